"use client";

import { useEffect, useId, useRef, useSyncExternalStore } from "react";
import { isTyping, singleKeysAreOn, switchSingleKeys, watchSingleKeys } from "@/app/desk/single-keys";
import { pressKey, takeInHand } from "@/app/desk/children/[childId]/sets/[photoSetId]/press-key";
import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/keys.module.css";

export type KeyLine = { readonly keys: string; readonly does: string };

/** One key for each thing on the answering desk, and the sheet that says which. Single keys can be switched off. */
export function DeskKeys({ words, lines }: {
  readonly words: { readonly open: string; readonly title: string; readonly single: string };
  readonly lines: readonly KeyLine[];
}) {
  const sheet = useRef<HTMLDivElement>(null);
  const id = useId();
  const areOn = useSyncExternalStore(watchSingleKeys, singleKeysAreOn, () => true);

  useEffect(() => {
    const form = sheet.current?.closest("form");
    if (!form) return;
    const onFocus = (event: FocusEvent) => takeInHand(form, event.target);
    const onKey = (event: KeyboardEvent) => {
      if (event.defaultPrevented || event.altKey) return;
      if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) {
        // Not from within another form, nor by a key still held down from the answer before.
        const within = event.target instanceof Element ? event.target.closest("form") : null;
        if (event.repeat || (within && within !== form)) return;
        form.requestSubmit();
      }
      else if (event.ctrlKey || event.metaKey) return;
      else if (event.key === "?" && !isTyping(event.target)) sheet.current?.togglePopover();
      else if (!pressKey(form, event.key, event.target)) return;
      event.preventDefault();
    };
    form.addEventListener("focusin", onFocus);
    form.setAttribute("data-keys-ready", "");
    document.addEventListener("keydown", onKey);
    return () => {
      form.removeEventListener("focusin", onFocus);
      document.removeEventListener("keydown", onKey);
    };
  }, []);

  return (
    <>
      <button type="button" className={styles.open} popoverTarget={id}>{words.open} <kbd className={styles.key}>?</kbd></button>
      <div ref={sheet} id={id} popover="auto" className={styles.sheet}>
        <h2>{words.title}</h2>
        <dl>
          {lines.map((line) => (
            <div key={line.does} className={styles.line}>
              <dt>{line.keys.split(" ").map((key) => <kbd key={key} className={styles.key}>{key}</kbd>)}</dt>
              <dd>{line.does}</dd>
            </div>
          ))}
        </dl>
        <label className={styles.single}>
          <input type="checkbox" checked={areOn} onChange={(event) => switchSingleKeys(event.target.checked)} /> {words.single}
        </label>
      </div>
    </>
  );
}
