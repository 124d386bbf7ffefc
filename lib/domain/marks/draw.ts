import { inPixels, readingOf } from "@/lib/domain/marks/angle";
import { drawAngle, drawLine } from "@/lib/domain/marks/draw-angle";
import type { Arrow, Mark, Note, Ring } from "@/lib/domain/marks/marks";
import { fine, penFor, spell, stroked, written, type Layer, type MarkShape, type Pen, type Pixel } from "@/lib/domain/marks/pen";
import { wrapNote } from "@/lib/domain/marks/wrap-note";

/** What is written beside a measured mark; `{degrees}` is filled, a line break starts a line. */
export type MarkLabels = { readonly angle: string; readonly level: string };

/**
 * The one drawing of marks: on screen, in print and in the flattened picture. `width` and `height`
 * are the pixels drawn on, above zero, in the photo's own proportions. `levelDegrees` as in
 * `readingOf`. A path is stroked, round-ended and unfilled; a circle is filled; a text's ink is
 * filled and its halo stroked, in `MARK_FACE`.
 */
export function drawMarks(
  marks: readonly Mark[],
  width: number,
  height: number,
  labels: MarkLabels,
  levelDegrees: number | null = null,
): readonly MarkShape[] {
  const pen = penFor(width, height);
  return marks.flatMap((mark) => {
    const reading = readingOf(mark, pen, levelDegrees);
    switch (mark.kind) {
      case "arrow":
        return stroked(mark.id, arrowPath(mark, pen), pen);
      case "ring":
        return stroked(mark.id, ringPath(mark, pen), pen);
      case "line":
        return drawLine(mark, pen, reading === null || levelDegrees === null ? null : { label: labelOf(labels.level, reading), levelDegrees });
      case "angle":
        return drawAngle(mark, pen, reading === null ? null : labelOf(labels.angle, reading));
      case "note":
        return drawNote(mark, pen);
    }
  });
}

export const labelOf = (label: string, degrees: number): string => label.replace("{degrees}", String(degrees));

/** Shaft and an open head; an arrow of no length still shows a head, pointing up. */
function arrowPath(arrow: Arrow, pen: Pen): string {
  const from = inPixels(arrow.from, pen);
  const to = inPixels(arrow.to, pen);
  const length = Math.hypot(to.x - from.x, to.y - from.y);
  const back = length === 0 ? { x: 0, y: 1 } : { x: (from.x - to.x) / length, y: (from.y - to.y) / length };
  const head = pen.ink * 5;
  const barb = (turn: 1 | -1): Pixel => ({
    x: to.x + head * (back.x * COS - turn * back.y * SIN),
    y: to.y + head * (back.y * COS + turn * back.x * SIN),
  });
  return `M${spell(from)}L${spell(to)}M${spell(barb(1))}L${spell(to)}L${spell(barb(-1))}`;
}
/** The head's barbs stand 30 degrees off the shaft. */
const COS = Math.cos(Math.PI / 6);
const SIN = Math.sin(Math.PI / 6);

/** Two half arcs; never so small that the strokes close over it. */
function ringPath(ring: Ring, pen: Pen): string {
  const { x, y } = inPixels(ring.center, pen);
  const rx = Math.max(pen.halo, ring.radiusX * pen.width);
  const ry = Math.max(pen.halo, ring.radiusY * pen.height);
  const arc = `A${fine(rx)} ${fine(ry)} 0 1 0 `;
  return `M${spell({ x: x - rx, y })}${arc}${spell({ x: x + rx, y })}${arc}${spell({ x: x - rx, y })}Z`;
}

/** A dot at the place and the words beside it, moved inside the picture where they would leave it. */
function drawNote(note: Note, pen: Pen): readonly MarkShape[] {
  const { x: cx, y: cy } = inPixels(note.at, pen);
  const dot = (layer: Layer, r: number): MarkShape => ({ kind: "circle", markId: note.id, layer, cx: fine(cx), cy: fine(cy), r });
  const block = wrapNote(note.text, { x: cx, y: cy }, { ...pen, fontSize: pen.ink * 5, gap: pen.ink * 4 });
  return [dot("halo", pen.ink * 2.6), dot("ink", pen.ink * 2), ...written(note.id, block)];
}
