import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/ink.module.css";
import { drawMarks, type MarkLabels } from "@/lib/domain/marks/draw";
import { MARK_FACE, MARK_WEIGHT } from "@/lib/domain/marks/pen";
import type { Mark } from "@/lib/domain/marks/marks";

/** The marks as the flattened picture draws them, in pixels of the photo; for an SVG whose view box is in those pixels. */
export function MarkShapes({ marks, width, height, labels, levelDegrees = null }: {
  readonly marks: readonly Mark[];
  readonly width: number;
  readonly height: number;
  readonly labels: MarkLabels;
  /** As in `readingOf`; null when nothing in the photo shows what is level. */
  readonly levelDegrees?: number | null;
}) {
  return (
    <g aria-hidden="true" className={styles.shapes}>
      {drawMarks(marks, width, height, labels, levelDegrees).map((shape, at) => {
        const key = `${shape.markId} ${at}`;
        const isHalo = shape.layer === "halo";
        if (shape.kind === "path") return <path key={key} className={isHalo ? styles.halo : styles.ink} d={shape.d} strokeWidth={shape.strokeWidth} />;
        if (shape.kind === "circle") return <circle key={key} className={isHalo ? styles.haloFill : styles.inkFill} cx={shape.cx} cy={shape.cy} r={shape.r} />;
        return (
          <text key={key} className={isHalo ? styles.haloText : styles.inkFill} x={shape.x} y={shape.y} fontFamily={MARK_FACE} fontWeight={MARK_WEIGHT} fontSize={shape.fontSize} strokeWidth={shape.strokeWidth}>
            {shape.text}
          </text>
        );
      })}
    </g>
  );
}
