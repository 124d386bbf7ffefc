import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/answering.module.css";
import { drawMarks } from "@/lib/domain/marks/draw";
import { anchors, type Mark } from "@/lib/domain/marks/marks";

/** The marks as the flattened picture draws them, and a dashed circle round the one chosen. */
export function MarkShapes({ marks, width, height, chosen }: {
  readonly marks: readonly Mark[];
  readonly width: number;
  readonly height: number;
  readonly chosen: string | null;
}) {
  const held = marks.find((mark) => mark.id === chosen);
  const reach = Math.min(width, height) / 40;
  return (
    <g aria-hidden="true">
      {drawMarks(marks, width, height).map((shape, at) => {
        const key = `${shape.markId} ${at}`;
        const isHalo = shape.layer === "halo";
        if (shape.kind === "path") return <path key={key} className={isHalo ? styles.halo : styles.ink} d={shape.d} strokeWidth={shape.strokeWidth} />;
        if (shape.kind === "circle") return <circle key={key} className={isHalo ? styles.haloFill : styles.inkFill} cx={shape.cx} cy={shape.cy} r={shape.r} />;
        return (
          <text key={key} className={isHalo ? styles.haloText : styles.inkFill} x={shape.x} y={shape.y} fontSize={shape.fontSize} strokeWidth={shape.strokeWidth}>
            {shape.text}
          </text>
        );
      })}
      {held ? anchors(held).map((point) => (
        <circle key={`${point.x} ${point.y}`} className={styles.chosen} cx={point.x * width} cy={point.y * height} r={reach} strokeWidth={reach / 6} />
      )) : null}
    </g>
  );
}
