"use client";

import { createContext, use, useEffect, useEffectEvent, useId, useRef, useState, useSyncExternalStore, type ReactNode } from "react";
import { Button } from "@/app/ui/button";
import styles from "@/app/ui/clip-player.module.css";
import { Speeds } from "@/app/ui/speeds";
import type { ClipShowing } from "@/lib/domain/clip/moment";
import { SHORTEST_SPAN_MS, type ClipSpan } from "@/lib/domain/clip/span";

const SPEEDS = [0.25, 0.5, 1] as const;

/** `times` holds `{n}`. */
export type ClipWords = Readonly<Record<"title" | "play" | "pause" | "speed" | "times" | "back" | "on" | "loopFrom" | "loopTo" | "loopAll" | "keys", string>>;

export type ShownClip = ClipShowing & { readonly src: string };

/** What stands under a player may do with it. */
export type ClipHandle = {
  /** The part being repeated, once both of its ends are chosen. */
  readonly part: ClipSpan | null;
  /** Stops at a time. */
  readonly seek: (ms: number) => void;
  /** Repeats a part from its beginning, slowly. */
  readonly repeat: (span: ClipSpan) => void;
  readonly film: () => HTMLVideoElement | null;
};

const Player = createContext<ClipHandle | null>(null);
/** The player that this stands under; null before scripts run. */
export const usePlayer = (): ClipHandle | null => use(Player);

/** Stops a film at a time, and in sight. */
function stand(film: HTMLVideoElement, ms: number): void {
  film.pause();
  film.currentTime = ms / 1000;
  film.scrollIntoView({ block: "nearest" });
}

const never = () => () => undefined;

const SHORTEST_LOOP_S = SHORTEST_SPAN_MS / 1000;
const SLOWLY = 0.5;

/**
 * A short clip in the browser's own player: slowly, frame by frame, and one part of it over and over. It has no
 * sound. Nothing is fetched before somebody plays it or steps through it. `children` stand under it and reach it by `usePlayer`.
 */
export function ClipPlayer({ clip, words, children }: { readonly clip: ShownClip; readonly words: ClipWords; readonly children?: ReactNode }) {
  const [around, video] = [useRef<HTMLElement>(null), useRef<HTMLVideoElement>(null)];
  const [isPlaying, setIsPlaying] = useState(false);
  const [speed, setSpeed] = useState<number>(1);
  const [loop, setLoop] = useState<{ readonly from: number; readonly to: number | null } | null>(null);
  const isAlive = useSyncExternalStore(never, () => true, () => false);
  const title = useId();
  const frameS = clip.durationMs / 1000 / clip.frames;

  const choose = (to: number) => {
    setSpeed(to);
    if (!video.current) return;
    // What is loaded later starts at the default rate.
    video.current.defaultPlaybackRate = to;
    video.current.playbackRate = to;
  };
  const step = (by: -1 | 1) => {
    const player = video.current;
    if (!player) return;
    player.pause();
    // Into the middle of a frame: its very edge belongs to one or the other by a hair.
    const at = Math.max(0, Math.min(clip.frames - 1, Math.floor(player.currentTime / frameS + 0.01) + by));
    player.currentTime = (at + 0.5) * frameS;
  };
  const keep = () => {
    const player = video.current;
    if (player && loop?.to && (player.currentTime >= loop.to || player.currentTime < loop.from)) player.currentTime = loop.from;
  };
  const close = (to: number) => {
    if (!loop || !video.current) return;
    setLoop({ from: loop.from, to: Math.max(to, loop.from + SHORTEST_LOOP_S) });
    video.current.currentTime = loop.from;
    void video.current.play();
  };
  // Two keys of its own while the focus is in it.
  const press = useEffectEvent((event: KeyboardEvent) => {
    if (event.key !== "," && event.key !== ".") return;
    event.preventDefault();
    event.stopPropagation();
    step(event.key === "," ? -1 : 1);
  });
  useEffect(() => {
    const part = around.current;
    const listen = (event: KeyboardEvent) => press(event);
    part?.addEventListener("keydown", listen);
    return () => part?.removeEventListener("keydown", listen);
  }, [around]);
  const handle: ClipHandle = {
    part: loop?.to == null ? null : { fromMs: Math.round(loop.from * 1000), toMs: Math.min(Math.round(loop.to * 1000), clip.durationMs) },
    seek: (ms) => {
      setLoop(null);
      if (video.current) stand(video.current, ms);
    },
    repeat: ({ fromMs, toMs }) => {
      setLoop({ from: fromMs / 1000, to: toMs / 1000 });
      choose(SLOWLY);
      if (!video.current) return;
      stand(video.current, fromMs);
      void video.current.play();
    },
    film: () => video.current,
  };
  const turn = () => {
    if (isPlaying) video.current?.pause();
    else void video.current?.play();
  };

  return (
    <section ref={around} className={styles.player} aria-labelledby={title}>
      <p id={title} className={styles.title}>{words.title}</p>
      <div className={styles.stage} data-turns={clip.turns}>
        <video ref={video} className={styles.film} data-flipped={clip.isTurnedBack} data-turns={clip.turns} controls={!clip.isTurnedBack && clip.turns === 0} muted playsInline loop={loop === null} preload="metadata" width={clip.width} height={clip.height} src={clip.src}
          aria-labelledby={title} onTimeUpdate={keep} onPlay={() => setIsPlaying(true)} onPause={() => setIsPlaying(false)}><track kind="captions" /></video>
      </div>
      {isAlive ? (
        <>
          <div className={styles.row}>
            <Button kind="quiet" onClick={turn}>{isPlaying ? words.pause : words.play}</Button>
            <Button kind="quiet" onClick={() => step(-1)}>{words.back}</Button>
            <Button kind="quiet" onClick={() => step(1)}>{words.on}</Button>
            <Button kind="quiet" aria-pressed={loop !== null} onClick={() => setLoop({ from: video.current?.currentTime ?? 0, to: null })}>{words.loopFrom}</Button>
            <Button kind="quiet" disabled={loop === null} aria-pressed={loop?.to != null} onClick={() => close(video.current?.currentTime ?? 0)}>{words.loopTo}</Button>
            {loop ? <Button kind="quiet" onClick={() => setLoop(null)}>{words.loopAll}</Button> : null}
          </div>
          <fieldset className={styles.speeds}>
            <legend>{words.speed}</legend>
            <Speeds speeds={SPEEDS} chosen={speed} times={words.times} onChoose={choose} />
          </fieldset>
          <p className={styles.small}>{words.keys}</p>
        </>
      ) : null}
      <Player value={isAlive ? handle : null}>{children}</Player>
    </section>
  );
}
