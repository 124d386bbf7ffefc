"use client";

import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/checklist.module.css";
import { CueField, type OfferedCue } from "@/app/desk/children/[childId]/sets/[photoSetId]/cue-field";
import { useOutcome } from "@/app/ui/action-form";
import { Chip } from "@/app/ui/chip";
import type { ReadingWords } from "@/app/ui/reading-grade";
import { Unseen } from "@/app/ui/unseen";
import { VerdictShape } from "@/app/ui/verdict-mark";
import type { Verdict } from "@/lib/domain/setup/vocabulary";

type Option = { readonly value: Verdict; readonly label: string };

/**
 * One item of the checklist with its newest verdicts before, kept as it was filled in when the form comes
 * back. Nothing in it is chosen beforehand. The data attributes are what the keys and the proposal read.
 */
export function ItemRow({ itemKey, title, kind, isStop, isAsked, letter, past, verdicts, cues, libraryHref, saved, words }: {
  readonly itemKey: string;
  readonly title: string;
  readonly kind: string;
  readonly isStop: boolean;
  readonly isAsked: boolean;
  /** The key that takes this item in hand; none for the last of a long list. */
  readonly letter: string | undefined;
  /** Its newest verdicts before this set, oldest first, and the same in words. */
  readonly past: { readonly verdicts: readonly Verdict[]; readonly words: string };
  readonly verdicts: readonly Option[];
  readonly cues: readonly OfferedCue[];
  readonly libraryHref: string;
  /** The draft's fields of this item. */
  readonly saved: Readonly<Record<string, string>>;
  readonly words: { readonly cue: string; readonly cueNone: string; readonly own: string; readonly library: string; readonly missing: string; readonly reading: ReadingWords };
}) {
  const outcome = useOutcome();
  const came = (part: string): string => {
    const name = `${part}.${itemKey}`;
    return (outcome.problem ? outcome.typed[name] : saved[name]) ?? "";
  };
  const isMissing = outcome.problem?.field === `verdict.${itemKey}`;
  const chosen = came("verdict");
  return (
    <fieldset className={styles.item} data-item={itemKey} data-title={title} data-letter={letter}
      data-stop={isStop ? "" : undefined} data-asked={isAsked ? "" : undefined}
      aria-label={kind ? `${title}, ${kind}` : title} aria-describedby={isMissing ? `missing-${itemKey}` : undefined}>
      <div className={styles.name}>
        {letter ? <kbd className={styles.key}>{letter}</kbd> : null}
        <span>{title}</span>
        {kind ? <span className={styles.kind}>{kind}</span> : null}
        {past.verdicts.length > 0 ? (
          <span className={styles.past}>
            {past.verdicts.map((verdict, at) => <VerdictShape key={at} verdict={verdict} />)}
            <Unseen>{past.words}</Unseen>
          </span>
        ) : null}
      </div>
      <div className={styles.verdicts}>
        {verdicts.map((verdict) => (
          <Chip key={verdict.value} name={`verdict.${itemKey}`} value={verdict.value} isChosen={verdict.value === chosen}>{verdict.label}</Chip>
        ))}
      </div>
      {isMissing ? <p id={`missing-${itemKey}`} className={styles.missing}>{words.missing}</p> : null}
      <div className={styles.fix} data-fix>
        <CueField itemKey={itemKey} cues={cues} cue={came("cue")} own={came("words")} libraryHref={libraryHref} words={words} />
      </div>
    </fieldset>
  );
}

/** "The rest is in place": one act, kept like the rows. */
export function RestRow({ saved, hasKeys, title, what }: { readonly saved: boolean; readonly hasKeys: boolean; readonly title: string; readonly what: string }) {
  const outcome = useOutcome();
  return (
    <label className={styles.rest}>
      {hasKeys ? <kbd className={styles.key}>r</kbd> : null}
      <input type="checkbox" name="rest" value="yes" defaultChecked={outcome.problem ? outcome.typed["rest"] === "yes" : saved} />
      <span><strong>{title}</strong> {what}</span>
    </label>
  );
}
