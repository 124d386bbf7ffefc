"use client";

import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/answering.module.css";
import { useOutcome } from "@/app/ui/action-form";

type Option = { readonly value: string; readonly label: string };

/** One item of the checklist, kept as it was filled in when the form comes back. Nothing in it is chosen beforehand. */
export function ItemRow({ itemKey, title, kind, isStop, verdicts, cues, saved, words }: {
  readonly itemKey: string;
  readonly title: string;
  readonly kind: string;
  readonly isStop: boolean;
  readonly verdicts: readonly Option[];
  readonly cues: readonly string[];
  /** The draft's fields of this item. */
  readonly saved: Readonly<Record<string, string>>;
  readonly words: { readonly cue: string; readonly cueNone: string; readonly own: string; readonly missing: string };
}) {
  const outcome = useOutcome();
  const came = (part: string): string => {
    const name = `${part}.${itemKey}`;
    return (outcome.problem ? outcome.typed[name] : saved[name]) ?? "";
  };
  const isMissing = outcome.problem?.field === `verdict.${itemKey}`;
  const chosen = came("verdict");
  const cue = came("cue");
  return (
    <fieldset className={styles.item} data-item={itemKey} data-stop={isStop ? "" : undefined} aria-describedby={isMissing ? `missing-${itemKey}` : undefined}>
      <legend className={styles.legend}>{title} <span className={styles.kind}>{kind}</span></legend>
      {isMissing ? <p id={`missing-${itemKey}`} className={styles.missing}>{words.missing}</p> : null}
      <div className={styles.verdicts}>
        {verdicts.map((verdict) => (
          <label key={verdict.value} className={styles.verdict}>
            <input type="radio" name={`verdict.${itemKey}`} value={verdict.value} defaultChecked={verdict.value === chosen} />
            <span>{verdict.label}</span>
          </label>
        ))}
      </div>
      <div className={styles.fix}>
        <label className={styles.cue}>
          <span>{words.cue}</span>
          {/* A list made anew: one that stands keeps the choice it was made with when the form is reset. */}
          <select key={cue} name={`cue.${itemKey}`} defaultValue={cue}>
            <option value="">{words.cueNone}</option>
            {cues.map((each) => <option key={each} value={each}>{each}</option>)}
          </select>
        </label>
        <label className={styles.cue}>
          <span>{words.own}</span>
          <input type="text" name={`words.${itemKey}`} maxLength={300} defaultValue={came("words")} />
        </label>
      </div>
    </fieldset>
  );
}

/** "The rest is in place": one act, kept like the rows. */
export function RestRow({ saved, title, what }: { readonly saved: boolean; readonly title: string; readonly what: string }) {
  const outcome = useOutcome();
  return (
    <label className={styles.rest}>
      <input type="checkbox" name="rest" value="yes" defaultChecked={outcome.problem ? outcome.typed["rest"] === "yes" : saved} />
      <span><strong>{title}</strong> {what}</span>
    </label>
  );
}
