"use client";

import { useRef, useState } from "react";
import styles from "@/app/desk/cues/cues.module.css";
import { useOutcome, useTyped } from "@/app/ui/action-form";
import { Button } from "@/app/ui/button";
import { TextArea } from "@/app/ui/field";
import { Notice } from "@/app/ui/notice";
import { ReadingGrade, type ReadingWords } from "@/app/ui/reading-grade";
import { Columns, Stack } from "@/app/ui/stack";
import type { SetupSides } from "@/lib/domain/setup/setup-sides";
import type { Side } from "@/lib/domain/sides";
import { checkCue } from "@/lib/domain/words/check-cue";
import { CUE_PLACEHOLDERS, offerCue, type Placeholder } from "@/lib/domain/words/cue";

/** `theirs` holds `{words}`, `notOffered` holds `{placeholder}`. */
export type EditorWords = Readonly<Record<"words" | "hint" | "insert" | "theirs" | "preview" | "previewEmpty" | "notOffered", string>> & {
  readonly side: Readonly<Record<Side, string>>;
  readonly reading: ReadingWords;
  /** Sentences by problem code. */
  readonly problems: Readonly<Record<string, string>>;
};
export type ShownSetup = { readonly name: string; readonly setup: SetupSides };

/** The words of one cue while they are written: sides to put in, how each family will read it, how hard it is. */
export function CueEditor({ saved, version, setups, words }: {
  readonly saved: string;
  readonly version: number;
  readonly setups: readonly ShownSetup[];
  readonly words: EditorWords;
}) {
  const place = useRef<HTMLDivElement>(null);
  const { problem } = useOutcome();
  const typed = useTyped("words");
  const [text, setText] = useState(typed ?? saved);
  const theirs = problem?.code === "cue-changed" ? problem.values : undefined;
  const insert = (placeholder: Placeholder) => {
    const area = place.current?.querySelector("textarea");
    if (!area) return;
    area.setRangeText(`{${placeholder}}`, area.selectionStart, area.selectionEnd, "end");
    area.dispatchEvent(new Event("input", { bubbles: true }));
    area.focus();
  };
  return (
    <Columns>
      <Stack>
        {theirs ? <Notice kind="caution">{words.theirs.replace("{words}", () => String(theirs["theirs"]))}</Notice> : null}
        <input type="hidden" name="version" value={theirs ? String(theirs["version"]) : version} />
        <div ref={place} onInput={(event) => setText(event.target instanceof HTMLTextAreaElement ? event.target.value : text)}>
          <TextArea label={words.words} hint={words.hint} name="words" rows={4} required defaultValue={saved} />
        </div>
        <fieldset className={styles.sides}>
          <legend>{words.insert}</legend>
          <div>
            {CUE_PLACEHOLDERS.map((each) => <Button key={each} type="button" kind="quiet" onClick={() => insert(each)}>{`{${each}}`}</Button>)}
          </div>
        </fieldset>
        <ReadingGrade name="words" words={words.reading} />
      </Stack>
      <CuePreview text={text} setups={setups} words={words} />
    </Columns>
  );
}

/** The cue in every set-up the exercise can have; or why it cannot be saved so. */
function CuePreview({ text, setups, words }: { readonly text: string; readonly setups: readonly ShownSetup[]; readonly words: EditorWords }) {
  const checked = checkCue(text, setups.map((each) => each.setup));
  const problem = checked.ok || text.trim() === "" ? null : checked.problem;
  return (
    <section className={styles.preview} aria-label={words.preview}>
      <p className={styles.previewTitle}>{words.preview}</p>
      {text.trim() === "" ? <p>{words.previewEmpty}</p> : null}
      {problem ? <p className={styles.wrong}>{filled(words.problems[problem.code] ?? problem.code, problem.values ?? {})}</p> : null}
      {checked.ok ? (
        <dl className={styles.said}>
          {setups.map(({ name, setup }) => {
            const offered = offerCue(checked.value, setup, (side) => words.side[side]);
            return (
              <div key={name}>
                <dt>{name}</dt>
                <dd>{offered.ok ? offered.value : <em>{filled(words.notOffered, offered.problem.values ?? {})}</em>}</dd>
              </div>
            );
          })}
        </dl>
      ) : null}
    </section>
  );
}

const filled = (sentence: string, values: Readonly<Record<string, string | number>>): string =>
  sentence.replace(/\{(\w+)\}/g, (whole, name: string) => String(values[name] ?? whole));
