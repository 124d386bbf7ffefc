import { inPixels } from "@/lib/domain/marks/angle";
import type { Angle, Line } from "@/lib/domain/marks/marks";
import { fine, spell, stroked, written, type MarkShape, type Pen, type Pixel } from "@/lib/domain/marks/pen";
import { wrapNote } from "@/lib/domain/marks/wrap-note";

/** Two arms, an arc between them, and the label on the side away from the opening. */
export function drawAngle(angle: Angle, pen: Pen, label: string | null): readonly MarkShape[] {
  const [from, vertex, to] = [inPixels(angle.from, pen), inPixels(angle.vertex, pen), inPixels(angle.to, pen)];
  const arms = stroked(angle.id, `M${spell(from)}L${spell(vertex)}L${spell(to)}`, pen);
  return label === null ? arms : [...arms, ...opened(angle.id, from, vertex, to, pen, label)];
}

/** The line alone, or with level drawn thinly from its lower-left end, the arc and the label. */
export function drawLine(line: Line, pen: Pen, read: { readonly label: string; readonly levelDegrees: number } | null): readonly MarkShape[] {
  const [from, to] = [inPixels(line.from, pen), inPixels(line.to, pen)];
  const drawn = stroked(line.id, `M${spell(from)}L${spell(to)}`, pen);
  if (read === null) return drawn;
  const turn = (read.levelDegrees * Math.PI) / 180;
  const along = (to.x - from.x) * Math.cos(turn) + (to.y - from.y) * Math.sin(turn);
  // Toward the line's other end, so that the angle drawn is the acute one that is read.
  const reach = Math.hypot(to.x - from.x, to.y - from.y) * 0.7 * (along < 0 ? -1 : 1);
  const level = { x: from.x + reach * Math.cos(turn), y: from.y + reach * Math.sin(turn) };
  return [...stroked(line.id, `M${spell(from)}L${spell(level)}`, pen, 0.5), ...drawn, ...opened(line.id, to, from, level, pen, read.label)];
}

function opened(markId: string, a: Pixel, vertex: Pixel, b: Pixel, pen: Pen, label: string): readonly MarkShape[] {
  const arms = [a, b].map((end) => ({ x: end.x - vertex.x, y: end.y - vertex.y, length: Math.hypot(end.x - vertex.x, end.y - vertex.y) }));
  const [first, second] = arms;
  if (!first || !second || first.length === 0 || second.length === 0) return [];
  const radius = Math.min(pen.ink * 12, 0.5 * Math.min(first.length, second.length));
  const on = (arm: typeof first): Pixel => ({ x: vertex.x + (arm.x / arm.length) * radius, y: vertex.y + (arm.y / arm.length) * radius });
  const isClockwise = first.x * second.y - first.y * second.x > 0;
  const arc = `M${spell(on(first))}A${fine(radius)} ${fine(radius)} 0 0 ${isClockwise ? 1 : 0} ${spell(on(second))}`;
  const opensRight = first.x / first.length + second.x / second.length > 0;
  const block = wrapNote(label, vertex, { ...pen, fontSize: pen.ink * 5.5, gap: pen.ink * 3, prefers: opensRight ? "left" : "right" });
  return [...stroked(markId, arc, pen, 0.5), ...written(markId, block)];
}
