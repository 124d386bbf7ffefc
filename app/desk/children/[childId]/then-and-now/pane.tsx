"use client";

import { useEffect, useEffectEvent, useRef, type PointerEvent, type ReactNode } from "react";
import { MarkShapes } from "@/app/desk/children/[childId]/sets/[photoSetId]/mark-shapes";
import { inBox, lookOf, type Look } from "@/app/desk/children/[childId]/then-and-now/look";
import styles from "@/app/desk/children/[childId]/then-and-now/then-and-now.module.css";
import type { ShownPhoto } from "@/app/desk/children/[childId]/then-and-now/words";
import type { MarkLabels } from "@/lib/domain/marks/draw";
import type { ScreenPoint } from "@/lib/domain/marks/geometry";
import { panBy, pinch, wheelFactor, wheelPixels, windowOf, zoomAbout, type Size, type View } from "@/lib/domain/marks/viewport";

/** One photo through a view: moved by dragging, two fingers, wheel and keys, each told as a `Look`. */
export function Pane({ photo, view, box, labels, areMarksShown, isActive, keysId, children, onLook, onTake }: {
  readonly photo: ShownPhoto;
  readonly view: View;
  readonly box: Size;
  readonly labels: MarkLabels;
  readonly areMarksShown: boolean;
  readonly isActive: boolean;
  /** Id of the words that name the keys. */
  readonly keysId: string;
  /** What is said of the photo. */
  readonly children: ReactNode;
  readonly onLook: (look: Look) => void;
  readonly onTake: () => void;
}) {
  const hold = useRef<HTMLDivElement>(null);
  const fingers = useRef(new Map<number, ScreenPoint>());
  const isWhole = view.zoom === 1;

  const onWheel = useEffectEvent((event: WheelEvent) => {
    const picture = hold.current?.querySelector("svg");
    if (!picture) return;
    const about = inBox(picture, box, event);
    const look: Look = (each, size) => zoomAbout(each, wheelFactor(wheelPixels(event)), about, size, box);
    // A wheel that has nothing to zoom scrolls the page.
    if (look(view, photo, box).zoom === view.zoom && !event.ctrlKey) return;
    event.preventDefault();
    onLook(look);
  });
  const onKey = useEffectEvent((event: KeyboardEvent) => {
    const look = event.ctrlKey || event.metaKey || event.altKey ? null : lookOf(event.key);
    if (!look) return;
    event.preventDefault();
    onLook(look);
  });

  const onFocus = useEffectEvent(onTake);

  useEffect(() => {
    const at = hold.current;
    if (!at) return;
    const wheel = (event: WheelEvent) => onWheel(event);
    const key = (event: KeyboardEvent) => onKey(event);
    const focus = () => onFocus();
    const touch = (event: TouchEvent) => {
      if (event.touches.length > 1 && event.cancelable) event.preventDefault();
    };
    // React's own listeners for wheel and touch are passive, and could not keep the page from moving too.
    at.addEventListener("wheel", wheel, { passive: false });
    for (const kind of ["touchstart", "touchmove"] as const) at.addEventListener(kind, touch, { passive: false });
    at.addEventListener("keydown", key);
    at.addEventListener("focus", focus);
    return () => {
      at.removeEventListener("wheel", wheel);
      for (const kind of ["touchstart", "touchmove"] as const) at.removeEventListener(kind, touch);
      at.removeEventListener("keydown", key);
      at.removeEventListener("focus", focus);
    };
  }, []);

  const onMove = (event: PointerEvent<SVGSVGElement>) => {
    const from = fingers.current.get(event.pointerId);
    if (!from) return;
    const to = inBox(event.currentTarget, box, event);
    const other = [...fingers.current].find(([id]) => id !== event.pointerId)?.[1];
    fingers.current.set(event.pointerId, to);
    onLook((each, size) => (other ? pinch(each, [from, other], [to, other], size, box) : panBy(each, to.x - from.x, to.y - from.y, size, box)));
  };
  const onEnd = (event: PointerEvent) => {
    fingers.current.delete(event.pointerId);
  };
  const { x, y, width, height } = windowOf(view, photo, box);
  return (
    <figure className={styles.pane} data-active={isActive ? "" : undefined}>
      <figcaption>{children}</figcaption>
      <div ref={hold} className={styles.hold} role="application" tabIndex={0} aria-label={photo.alt} aria-describedby={keysId}>
        <svg className={styles.picture} viewBox={[x, y, width, height].join(" ")} aria-hidden="true" data-whole={isWhole ? "" : undefined}
          onPointerDown={(event) => {
            if (event.button !== 0) return;
            event.currentTarget.setPointerCapture(event.pointerId);
            fingers.current.set(event.pointerId, inBox(event.currentTarget, box, event));
            onTake();
          }}
          onPointerMove={onMove} onPointerUp={onEnd} onPointerCancel={onEnd} onLostPointerCapture={onEnd}>
          <image href={photo.src} width={photo.width} height={photo.height} />
          {areMarksShown ? <MarkShapes marks={photo.marks} width={photo.width} height={photo.height} labels={labels} levelDegrees={photo.levelDegrees} /> : null}
        </svg>
      </div>
    </figure>
  );
}
