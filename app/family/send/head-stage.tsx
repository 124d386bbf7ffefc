"use client";

import type { KeyboardEvent, MouseEvent } from "react";
import styles from "@/app/family/send/send.module.css";

type Point = { readonly x: number; readonly y: number };
const STEP = 0.05;
const MOVES: Readonly<Record<string, Point>> = {
  ArrowLeft: { x: -STEP, y: 0 }, ArrowRight: { x: STEP, y: 0 }, ArrowUp: { x: 0, y: -STEP }, ArrowDown: { x: 0, y: STEP },
};
const within = (at: number) => Math.min(1, Math.max(0, at));

/** The picture, on which the head is tapped or, by arrow keys, reached with a cross. Fractions of the picture. */
export function HeadStage({ src, isFlipped, width, height, label, head, onHead }: {
  readonly src: string;
  /** Shown left for right; what is tapped is so too. */
  readonly isFlipped: boolean;
  readonly width: number;
  readonly height: number;
  readonly label: string;
  readonly head: Point | null;
  readonly onHead: (head: Point) => void;
}) {
  const tap = (event: MouseEvent<HTMLButtonElement>) => {
    // A press of Enter has no place on the picture.
    if (event.detail === 0) return;
    const box = event.currentTarget.getBoundingClientRect();
    onHead({ x: within((event.clientX - box.left) / box.width), y: within((event.clientY - box.top) / box.height) });
  };
  const move = (event: KeyboardEvent) => {
    const by = MOVES[event.key];
    if (!by) return;
    event.preventDefault();
    const from = head ?? { x: 0.5, y: 0.5 };
    onHead({ x: within(from.x + by.x), y: within(from.y + by.y) });
  };
  return (
    <button type="button" className={styles.stage} aria-label={label} onClick={tap} onKeyDown={move}>
      <img className={styles.picture} data-flipped={isFlipped} src={src} alt="" width={width} height={height} />
      {head ? (
        <svg className={styles.cross} viewBox="0 0 100 100" preserveAspectRatio="none" aria-hidden="true">
          {[styles.halo, styles.line].map((name) => (
            <path key={name} className={name} d={`M${head.x * 100 - 5} ${head.y * 100}h10M${head.x * 100} ${head.y * 100 - 5}v10`} />
          ))}
        </svg>
      ) : null}
    </button>
  );
}
