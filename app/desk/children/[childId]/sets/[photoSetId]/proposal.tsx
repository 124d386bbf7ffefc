"use client";

import { useEffect, useRef, useState } from "react";
import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/desk.module.css";
import { proposeNextStep, proposeSummary, type Judged, type ProposalWords } from "@/lib/domain/answering/propose";
import { VERDICTS } from "@/lib/domain/setup/vocabulary";
import { joined } from "@/lib/domain/words/cue";

/**
 * Writes what the verdicts say into the summary and the next step, for as long as the therapist has put
 * nothing of their own there. What they wrote or chose is never touched.
 */
export function Proposal({ words, note }: { readonly words: ProposalWords; readonly note: string }) {
  const place = useRef<HTMLParagraphElement>(null);
  const [isProposed, setIsProposed] = useState(false);

  useEffect(() => {
    const form = place.current?.closest("form");
    const summary = form?.querySelector<HTMLTextAreaElement>("textarea[name=summary]");
    if (!form || !summary) return;
    let last: string | null = null;
    let lastStep: string | null = null;
    const look = () => {
      const judged = readJudged(form);
      const text = proposeSummary(judged, words);
      const isOurs = summary.value.trim() === "" || summary.value === last || summary.value === text;
      const step = proposeNextStep(judged);
      const chosen = form.querySelector<HTMLInputElement>("input[name=nextStep]:checked")?.value ?? null;
      const isStepOurs = chosen === null || chosen === lastStep || chosen === step;
      const radio = step && form.querySelector<HTMLInputElement>(`input[name=nextStep][value="${step}"]`);
      const isChanged = (isOurs && text !== null && summary.value !== text) || (isStepOurs && step !== null && chosen !== step);
      if (isOurs) {
        if (text !== null) summary.value = text;
        last = text;
      }
      if (isStepOurs) {
        if (radio) radio.checked = true;
        lastStep = step;
      }
      setIsProposed(isOurs && text !== null);
      // The draft and the side watch listen to the form's own events.
      if (isChanged) summary.dispatchEvent(new Event("input", { bubbles: true }));
    };
    look();
    form.addEventListener("input", look);
    return () => form.removeEventListener("input", look);
  }, [words]);

  return <p ref={place} className={styles.proposed} aria-live="polite">{isProposed ? note : ""}</p>;
}

function readJudged(form: HTMLFormElement): readonly Judged[] {
  const isRest = form.querySelector<HTMLInputElement>("input[name=rest]")?.checked ?? false;
  return [...form.querySelectorAll<HTMLElement>("fieldset[data-item]")].map((row) => {
    const { item = "", title = "", stop, asked } = row.dataset;
    const chosen = row.querySelector<HTMLInputElement>("input[name^='verdict.']:checked")?.value;
    const cue = row.querySelector<HTMLElement>("[data-fix] input[type=radio]:checked")?.dataset["words"] ?? "";
    const own = row.querySelector<HTMLInputElement>("input[name^='words.']")?.value ?? "";
    const isStop = stop !== undefined;
    const isAsked = asked !== undefined;
    const verdict = VERDICTS.find((each) => each === chosen) ?? (isRest && isAsked && !isStop ? "in-place" : null);
    return { itemKey: item, title, isStop, isAsked, verdict, words: joined(cue, own.trim()) };
  });
}
