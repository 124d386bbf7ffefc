"use client";

import { useEffect, useRef, type RefObject } from "react";
import type { ItemOption } from "@/app/desk/children/[childId]/sets/[photoSetId]/mark-names";

/** Milliseconds within which the focus that leaves a changed row was sent on by that change. */
const SENT_ON = 150;

/**
 * The checklist item that was last worked at: marks drawn while it stands at `fix` belong to it. A
 * verdict or cue sends the focus on to the next item by itself, and that next one is not yet worked at.
 */
export function useItemInHand(root: RefObject<HTMLElement | null>, items: readonly ItemOption[]) {
  const row = useRef<HTMLElement | null>(null);
  const cameFrom = useRef<HTMLElement | null>(null);

  useEffect(() => {
    const form = root.current?.closest("form");
    if (!form) return;
    let changedAt = Number.NEGATIVE_INFINITY;
    const rowOf = ({ target }: Event) => (target instanceof Element ? target.closest<HTMLElement>("fieldset[data-item]") : null);
    const onChange = (event: Event) => {
      const found = rowOf(event);
      if (!found) return;
      row.current = found;
      changedAt = event.timeStamp;
    };
    const onFocus = (event: FocusEvent) => {
      const found = rowOf(event);
      if (found && event.timeStamp - changedAt > SENT_ON) row.current = found;
    };
    form.addEventListener("change", onChange);
    form.addEventListener("focusin", onFocus);
    return () => {
      form.removeEventListener("change", onChange);
      form.removeEventListener("focusin", onFocus);
    };
  }, [root]);

  return {
    item: (): string | null => {
      const key = row.current?.isConnected && row.current.querySelector("input[type=radio][value=fix]:checked") ? row.current.dataset["item"] : undefined;
      return items.some((each) => each.value === key) ? (key ?? null) : null;
    },
    remember: () => {
      const at = document.activeElement;
      if (at instanceof HTMLElement && at !== document.body && !root.current?.contains(at)) cameFrom.current = at;
    },
    goBack: () => {
      const field = cameFrom.current ?? row.current?.querySelector<HTMLElement>("input:checked, input") ?? null;
      cameFrom.current = null;
      field?.focus();
    },
  };
}
