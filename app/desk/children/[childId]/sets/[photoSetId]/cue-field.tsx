"use client";

import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/cue-field.module.css";
import { ReadingGrade, type ReadingWords } from "@/app/ui/reading-grade";

export type OfferedCue = { readonly id: string; readonly words: string };

/**
 * What to do about one item: a cue of the library with this child's sides, own words, or both. Each choice
 * carries its place as `data-cue-index`, from 1; no cue is 0. The keys and the proposed summary read them.
 */
export function CueField({ itemKey, cues, cue, own, libraryHref, words }: {
  readonly itemKey: string;
  /** Most used first. */
  readonly cues: readonly OfferedCue[];
  /** What was chosen and typed before. */
  readonly cue: string;
  readonly own: string;
  readonly libraryHref: string;
  readonly words: { readonly cue: string; readonly cueNone: string; readonly own: string; readonly library: string; readonly reading: ReadingWords };
}) {
  const name = `cue.${itemKey}`;
  return (
    <>
      <fieldset className={styles.cues}>
        <legend className={styles.legend}>{words.cue}</legend>
        {[...cues, { id: "none", words: words.cueNone }].map((each, at) => {
          const index = at === cues.length ? 0 : at + 1;
          return (
            <label key={each.id} className={styles.row}>
              <input type="radio" name={name} value={each.id} data-cue-index={index} data-words={index === 0 ? "" : each.words} defaultChecked={each.id === cue} />
              <span className={styles.digit} aria-hidden="true">{index < 10 ? index : ""}</span>
              <span>{each.words}</span>
            </label>
          );
        })}
      </fieldset>
      <div className={styles.own}>
        <label>
          <span className={styles.legend}>{words.own}</span>
          {/* As long as a cue and own words together: an answer that is amended has both here. */}
          <input type="text" name={`words.${itemKey}`} maxLength={600} placeholder=" " defaultValue={own} />
        </label>
        <ReadingGrade name={`words.${itemKey}`} words={words.reading} />
        <a href={libraryHref} target="_blank" rel="noreferrer" className={styles.library}>{words.library}</a>
      </div>
    </>
  );
}
