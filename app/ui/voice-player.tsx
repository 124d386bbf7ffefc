"use client";

import { useId, useRef, useState, useSyncExternalStore, type ReactNode } from "react";
import { Speeds } from "@/app/ui/speeds";
import styles from "@/app/ui/voice-player.module.css";

const SPEEDS = [1, 1.25, 1.5] as const;

/** `title` says how long it lasts; `times` holds `{n}`. */
export type PlayerWords = Readonly<Record<"title" | "speed" | "times" | "same", string>>;

const never = () => () => undefined;

/**
 * A spoken note in the browser's own player, at three speeds once scripts run, and the same in words
 * beside it: nobody depends on sound. Nothing is fetched before somebody plays it.
 */
export function VoicePlayer({ src, words, children }: {
  readonly src: string;
  readonly words: PlayerWords;
  /** The summary, in words. */
  readonly children: ReactNode;
}) {
  const audio = useRef<HTMLAudioElement>(null);
  const [speed, setSpeed] = useState<number>(1);
  const isAlive = useSyncExternalStore(never, () => true, () => false);
  const [title, inWords] = [useId(), useId()];

  const choose = (to: number) => {
    setSpeed(to);
    if (!audio.current) return;
    // What is loaded later starts at the default rate.
    audio.current.defaultPlaybackRate = to;
    audio.current.playbackRate = to;
  };

  return (
    <section className={styles.player} aria-labelledby={title}>
      <p id={title} className={styles.title}>{words.title}</p>
      <audio ref={audio} className={styles.audio} controls preload="none" src={src} aria-labelledby={title} aria-describedby={inWords}><track kind="captions" /></audio>
      {isAlive ? (
        <fieldset className={styles.speeds}>
          <legend className={styles.speed}>{words.speed}</legend>
          <Speeds speeds={SPEEDS} chosen={speed} times={words.times} onChoose={choose} />
        </fieldset>
      ) : null}
      <div id={inWords}><p className={styles.same}>{words.same}</p>{children}</div>
    </section>
  );
}
