"use client";

import type { ReactNode } from "react";
import { Button } from "@/app/ui/button";
import { ClipPlayer, usePlayer, type ClipWords, type ShownClip } from "@/app/ui/clip-player";
import styles from "@/app/ui/marked-clip.module.css";
import type { ClipSpan } from "@/lib/domain/clip/span";

/** A marked picture of the clip; `at` says its time. */
export type ShownMoment = { readonly photoId: string; readonly clipMs: number; readonly at: string; readonly picture: ReactNode };

type Marked = {
  readonly span: ClipSpan | null;
  readonly moments: readonly ShownMoment[];
  readonly words: ClipWords & { readonly marked: string; readonly repeat: string; readonly repeats: string };
};

/** A clip as its therapist answered it: the part to repeat, and the marked moments beneath, at each of which it can be stopped. */
export const MarkedClip = ({ clip, ...marked }: Marked & { readonly clip: ShownClip }) =>
  <ClipPlayer clip={clip} words={marked.words}><Under {...marked} /></ClipPlayer>;

function Under({ span, moments, words }: Marked) {
  const player = usePlayer();
  return (
    <>
      {player && span ? (
        <div className={styles.repeat}>
          <Button onClick={() => player.repeat(span)}>{words.repeat}</Button>
          <span className={styles.small}>{words.repeats}</span>
        </div>
      ) : null}
      {moments.length > 0 ? (
        <section className={styles.marked} aria-label={words.marked}>
          <p className={styles.title}>{words.marked}</p>
          <ul className={styles.moments}>
            {moments.map(({ photoId, clipMs, at, picture }) => (
              <li key={photoId}>
                {player ? <Button kind="quiet" onClick={() => player.seek(clipMs)}>{at}</Button> : null}
                {picture}
              </li>
            ))}
          </ul>
        </section>
      ) : null}
    </>
  );
}
