"use client";

import { useEffect, useRef, useState, type KeyboardEvent, type PointerEvent } from "react";
import styles from "@/app/family/send/ready/ready.module.css";
import type { Words } from "@/app/family/send/steps";
import { Button } from "@/app/ui/button";
import { Row, Stack } from "@/app/ui/stack";
import { coverBetween, FIRST_COVER, MOST_COVERS, movedCover, sizedCover, type Cover } from "@/lib/domain/photo/cover";
import type { Point } from "@/lib/domain/photo/homography";
import type { Size } from "@/lib/domain/photo/orientation";

const STEP = 0.02;
const WAYS: readonly (readonly [string, string, Point])[] = [
  ["ArrowLeft", "coverLeft", { x: -STEP, y: 0 }], ["ArrowRight", "coverRight", { x: STEP, y: 0 }],
  ["ArrowUp", "coverUp", { x: 0, y: -STEP }], ["ArrowDown", "coverDown", { x: 0, y: STEP }],
];
const SIZES: readonly (readonly [string, Point])[] = [
  ["coverWider", { x: STEP, y: 0 }], ["coverNarrower", { x: -STEP, y: 0 }], ["coverTaller", { x: 0, y: STEP }], ["coverShorter", { x: 0, y: -STEP }],
];
/** An SVG shape cannot be a real button. */
const BUTTON = { role: "button", tabIndex: 0 } as const;
type Drag = { readonly from: Point; readonly index: number; readonly cover: Cover | null };

/** The picture with its covers: dragged, drawn with a mouse, or placed and moved by buttons and arrow keys. */
export function CoverStage({ src, size, covers, words, onCovers }: {
  readonly src: string;
  readonly size: Size;
  readonly covers: readonly Cover[];
  readonly words: Words;
  readonly onCovers: (covers: readonly Cover[]) => void;
}) {
  const stage = useRef<SVGSVGElement>(null);
  const [chosen, setChosen] = useState(0);
  const [drag, setDrag] = useState<Drag | null>(null);
  // Chromium heeds `touch-action` on the outermost SVG alone: under a finger on a cover the page would scroll away. React's own listener may not refuse it.
  useEffect(() => {
    const bare = stage.current;
    const hold = (event: TouchEvent) => {
      if (event.target !== bare) event.preventDefault();
    };
    bare?.addEventListener("touchstart", hold, { passive: false });
    return () => bare?.removeEventListener("touchstart", hold);
  }, []);
  const change = (index: number, to: (cover: Cover) => Cover) => onCovers(covers.map((cover, at) => (at === index ? to(cover) : cover)));
  const remove = (index: number) => {
    onCovers(covers.filter((_, at) => at !== index));
    setChosen(0);
  };

  const pointOf = (event: PointerEvent): Point => {
    const box = stage.current?.getBoundingClientRect();
    return box ? { x: (event.clientX - box.left) / box.width, y: (event.clientY - box.top) / box.height } : { x: 0, y: 0 };
  };
  const begin = (event: PointerEvent<SVGElement>, index: number) => {
    event.stopPropagation();
    const cover = covers[index] ?? null;
    // A finger on the bare picture scrolls the page.
    if (!cover && (event.pointerType === "touch" || covers.length >= MOST_COVERS)) return;
    stage.current?.setPointerCapture(event.pointerId);
    setDrag({ from: pointOf(event), index, cover });
    if (cover) setChosen(index);
  };
  const go = (event: PointerEvent) => {
    if (!drag) return;
    const { from, index, cover } = drag;
    const at = pointOf(event);
    const next = cover ? movedCover(cover, { x: at.x - from.x, y: at.y - from.y }) : coverBetween(from, at);
    if (!next) return;
    onCovers(covers.toSpliced(index, 1, next));
    setChosen(index);
  };
  const press = (event: KeyboardEvent, index: number) => {
    const by = WAYS.find(([key]) => key === event.key)?.[2];
    if (by) change(index, (cover) => (event.shiftKey ? sizedCover(cover, by) : movedCover(cover, by)));
    else if (event.key === "Delete" || event.key === "Backspace") remove(index);
    else return;
    event.preventDefault();
  };
  const name = (index: number) => (words["coverName"] ?? "").replace("{n}", String(index + 1));

  return (
    <>
      <div className={styles.stage}>
        <img src={src} alt={words["readyAlt"]} width={size.width} height={size.height} />
        <svg ref={stage} viewBox="0 0 1 1" preserveAspectRatio="none" aria-hidden={covers.length === 0} onPointerDown={(event) => begin(event, covers.length)} onPointerMove={go}
          onPointerUp={() => setDrag(null)} onPointerCancel={() => setDrag(null)}>
          {covers.map((cover, index) => (
            // Its place in the list is all that it is.
            <rect key={index} className={styles.cover} data-chosen={index === chosen} {...cover} {...BUTTON} aria-label={name(index)} aria-pressed={index === chosen}
              onPointerDown={(event) => begin(event, index)} onKeyDown={(event) => press(event, index)} onFocus={() => setChosen(index)} />
          ))}
        </svg>
      </div>
      <p>{words["coverLead"]}</p>
      <Button kind="quiet" disabled={covers.length >= MOST_COVERS} onClick={() => {
        onCovers([...covers, FIRST_COVER]);
        setChosen(covers.length);
      }}>{words["coverAdd"]}</Button>
      {covers[chosen] ? (
        <fieldset>
          <legend>{name(chosen)}</legend>
          <Stack gap="small">
            <Row>{WAYS.map(([key, word, by]) => <Button key={key} kind="quiet" onClick={() => change(chosen, (cover) => movedCover(cover, by))}>{words[word]}</Button>)}</Row>
            <Row>{SIZES.map(([word, by]) => <Button key={word} kind="quiet" onClick={() => change(chosen, (cover) => sizedCover(cover, by))}>{words[word]}</Button>)}</Row>
            <Button kind="quiet" onClick={() => remove(chosen)}>{words["coverRemove"]}</Button>
          </Stack>
        </fieldset>
      ) : null}
    </>
  );
}
