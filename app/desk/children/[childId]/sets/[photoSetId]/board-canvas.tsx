"use client";

import { useEffect, useRef, type RefObject } from "react";
import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/board.module.css";
import { MarkGrips } from "@/app/desk/children/[childId]/sets/[photoSetId]/mark-grips";
import { MarkShapes } from "@/app/desk/children/[childId]/sets/[photoSetId]/mark-shapes";
import type { Board } from "@/app/desk/children/[childId]/sets/[photoSetId]/use-board";
import { useGestures } from "@/app/desk/children/[childId]/sets/[photoSetId]/use-gestures";
import { fitOf, windowOf } from "@/lib/domain/marks/viewport";

/** The photo in whatever box it is given, with its marks drawn over it. */
export function BoardCanvas({ board, isHeld }: { readonly board: Board; readonly isHeld: RefObject<boolean> }) {
  const frame = useRef<HTMLDivElement>(null);
  const canvas = useRef<SVGSVGElement>(null);
  const { preview, ...gestures } = useGestures(board, canvas, isHeld);
  const { photo, view, box, words, setBox } = board;

  useEffect(() => {
    const watch = new ResizeObserver(([entry]) => {
      if (!entry) return;
      const { width, height } = entry.contentRect;
      if (width > 0 && height > 0) setBox({ width, height });
    });
    if (frame.current) watch.observe(frame.current);
    return () => watch.disconnect();
  }, [setBox]);

  const seen = windowOf(view, photo, box);
  const shown = preview ? [...board.marks, preview] : board.marks;
  return (
    <div ref={frame} className={styles.frame} data-wide={photo.width >= photo.height ? "" : undefined}>
      <svg
        ref={canvas} className={styles.canvas} viewBox={`${seen.x} ${seen.y} ${seen.width} ${seen.height}`} role="application" aria-label={photo.alt} tabIndex={0}
        data-canvas="" data-tool={board.tool ?? undefined} data-zoomed={view.zoom > 1 ? "" : undefined}
        {...gestures}
      >
        <image href={photo.src} width={photo.width} height={photo.height} />
        <MarkShapes marks={shown} width={photo.width} height={photo.height} labels={words.labels} levelDegrees={photo.levelDegrees ?? null} />
        <MarkGrips board={board} scale={fitOf(view, photo, box).width / photo.width} />
      </svg>
    </div>
  );
}
