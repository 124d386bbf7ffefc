"use client";

import { useEffect, useRef, useState } from "react";
import styles from "@/app/ui/reading-grade.module.css";
import { readingOf, type Reading } from "@/lib/domain/words/reading-grade";

/** `figure` holds `{grade}` and `{ease}`, `sentence` `{n}` and `{text}`, `long` `{list}`. */
export type ReadingWords = Readonly<Record<"figure" | "tooShort" | "simpler" | "sentence" | "long", string>>;

/** How hard the words of a field of the same form are to read, while they are typed. It advises and never holds anything up. */
export function ReadingGrade({ name, words }: { readonly name: string; readonly words: ReadingWords }) {
  const place = useRef<HTMLDivElement>(null);
  const [text, setText] = useState("");

  useEffect(() => {
    const form = place.current?.closest("form");
    if (!form) return;
    const look = () => setText(String(new FormData(form).get(name) ?? ""));
    const onInput = (event: Event) => {
      const at = event.target;
      if ((at instanceof HTMLTextAreaElement || at instanceof HTMLInputElement) && at.name === name) look();
    };
    look();
    form.addEventListener("input", onInput);
    return () => form.removeEventListener("input", onInput);
  }, [name]);

  return <div ref={place}>{text.trim() === "" ? null : <ReadingFigure reading={readingOf(text)} words={words} />}</div>;
}

/** The figure in words, and what makes the text hard when it is. */
export function ReadingFigure({ reading, words }: { readonly reading: Reading; readonly words: ReadingWords }) {
  if (reading.kind === "too-short") return <p className={styles.reading}>{words.tooShort}</p>;
  const { grade, ease, isHard, longestSentence, longWords } = reading;
  return (
    <div className={styles.reading} data-hard={isHard ? "" : undefined}>
      <p>{words.figure.replace("{grade}", grade.toFixed(1)).replace("{ease}", String(ease))}</p>
      {isHard ? (
        <>
          <p className={styles.simpler}>{words.simpler}</p>
          <p>{words.sentence.replace("{n}", String(longestSentence.words)).replace("{text}", () => longestSentence.text)}</p>
          {longWords.length > 0 ? <p>{words.long.replace("{list}", () => longWords.join(", "))}</p> : null}
        </>
      ) : null}
    </div>
  );
}
