"use client";

import { useEffect, useRef, useState, useSyncExternalStore, type ReactNode } from "react";
import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/side-watch.module.css";
import { useOutcome } from "@/app/ui/action-form";
import { Notice } from "@/app/ui/notice";
import { checkSideVerdict, SIDE_DOWN } from "@/lib/domain/answering/check-answer";
import type { SetupSides } from "@/lib/domain/setup/setup-sides";
import type { SideCheck } from "@/lib/domain/setup/side-check";
import { VERDICTS } from "@/lib/domain/setup/vocabulary";
import { typedSides } from "@/lib/domain/words/typed-sides";

const never = () => () => {};

/** Fields whose words the family reads. */
const READ_BY_FAMILY = /^(?:summary|words(?:\..+)?|marks\..+|note|reason)$/;

/**
 * Points out, while they are typed, sides that go against the set-up and sides nobody can tell, and shows
 * the place for a reason where one is due. New words take back the tick that confirmed the old ones.
 * The server compares again.
 */
export function SideWatch({ setup, checks, words, children }: {
  readonly setup: SetupSides;
  readonly checks: readonly (SideCheck | null)[];
  readonly words: { readonly disagree: string; readonly cannotTell: string; readonly doubt: string };
  /** Where the reason is written. */
  readonly children: ReactNode;
}) {
  const outcome = useOutcome();
  const [isDiffering, setIsDiffering] = useState(false);
  const place = useRef<HTMLDivElement>(null);
  const [found, setFound] = useState<{ readonly wrong: readonly string[]; readonly unsure: readonly string[] }>({ wrong: [], unsure: [] });

  useEffect(() => {
    const form = place.current?.closest("form");
    if (!form) return;
    const look = () => {
      const wrong: string[] = [];
      const unsure: string[] = [];
      for (const [name, text] of new FormData(form)) {
        if (typeof text !== "string" || !READ_BY_FAMILY.test(name)) continue;
        for (const side of typedSides(text, setup)) {
          const around = text.slice(Math.max(0, side.start - 24), side.end + 24).trim();
          if (side.agrees === false) wrong.push(around);
          else if (side.agrees === "cannot-tell") unsure.push(around);
        }
      }
      setFound({ wrong, unsure });
      const down = form.querySelector<HTMLInputElement>(`input[name="verdict.${SIDE_DOWN}"]:checked`)?.value;
      const verdict = VERDICTS.find((each) => each === down) ?? null;
      setIsDiffering(verdict !== null && !checkSideVerdict(verdict, checks, "").ok);
    };
    const onInput = (event: Event) => {
      const at = event.target;
      const confirmed = form.querySelector<HTMLInputElement>("input[name=wordsConfirmed]");
      if (confirmed && at !== confirmed && (at instanceof HTMLTextAreaElement || at instanceof HTMLInputElement) && READ_BY_FAMILY.test(at.name)) confirmed.checked = false;
      look();
    };
    look();
    form.addEventListener("input", onInput);
    return () => form.removeEventListener("input", onInput);
  }, [setup, checks]);

  const said = (all: readonly string[]) => all.map((each) => `“… ${each} …”`).join(" ");
  const isAsked = outcome.problem?.code === "side-check-disagree" || outcome.problem?.code === "words-side-disagree";
  const isDue = isDiffering || isAsked || found.wrong.length > 0;
  // Without scripts nobody can tell when it is due, so it stands there.
  const isScripted = useSyncExternalStore(never, () => true, () => false);
  return (
    <div ref={place} aria-live="polite">
      {found.wrong.length > 0 ? <Notice kind="caution">{words.disagree} {said(found.wrong)}</Notice> : null}
      {found.unsure.length > 0 ? <p>{words.cannotTell} {said(found.unsure)}</p> : null}
      <fieldset className={styles.doubt} hidden={isScripted && !isDue} data-due={isDue ? "" : undefined} aria-label={words.doubt}>{children}</fieldset>
    </div>
  );
}
