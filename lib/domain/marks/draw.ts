import type { PhotoPoint } from "@/lib/domain/marks/geometry";
import type { Arrow, Mark, Note, Ring } from "@/lib/domain/marks/marks";
import { wrapNote } from "@/lib/domain/marks/wrap-note";

/** A halo lies under the ink so that a mark reads on skin, cloth and floor alike. */
type Layer = "halo" | "ink";

/** One drawing primitive, in pixels of the drawn picture, painted in the order given. */
export type MarkShape =
  | { readonly kind: "path"; readonly markId: string; readonly layer: Layer; readonly d: string; readonly strokeWidth: number }
  | {
      readonly kind: "circle";
      readonly markId: string;
      readonly layer: Layer;
      readonly cx: number;
      readonly cy: number;
      readonly r: number;
    }
  | {
      readonly kind: "text";
      readonly markId: string;
      readonly layer: Layer;
      readonly x: number;
      readonly y: number;
      readonly text: string;
      readonly fontSize: number;
      /** The halo's outline; nought for the ink, which is filled. */
      readonly strokeWidth: number;
    };

type Pen = { readonly width: number; readonly height: number; readonly ink: number; readonly halo: number };
type Pixel = { readonly x: number; readonly y: number };

/**
 * The one drawing of marks: on screen, in print and in the flattened picture. `width` and `height`
 * are the pixels drawn on, above zero. A path is stroked, round-ended and unfilled; a circle is
 * filled; a text's ink is filled and its halo stroked, in a sans-serif face.
 */
export function drawMarks(marks: readonly Mark[], width: number, height: number): readonly MarkShape[] {
  // A hundred-and-sixtieth of the shorter side is seen at arm's length on a phone: from trying.
  const ink = Math.max(2, Math.min(width, height) / 160);
  const pen = { width, height, ink, halo: ink * 2.2 };
  return marks.flatMap((mark) => drawMark(mark, pen));
}

function drawMark(mark: Mark, pen: Pen): readonly MarkShape[] {
  switch (mark.kind) {
    case "arrow":
      return stroked(mark.id, arrowPath(mark, pen), pen);
    case "ring":
      return stroked(mark.id, ringPath(mark, pen), pen);
    case "note":
      return drawNote(mark, pen);
  }
}

const stroked = (markId: string, d: string, pen: Pen): readonly MarkShape[] => [
  { kind: "path", markId, layer: "halo", d, strokeWidth: pen.halo },
  { kind: "path", markId, layer: "ink", d, strokeWidth: pen.ink },
];

const pixel = (point: PhotoPoint, pen: Pen): Pixel => ({ x: point.x * pen.width, y: point.y * pen.height });

/** Shaft and an open head; an arrow of no length still shows a head, pointing up. */
function arrowPath(arrow: Arrow, pen: Pen): string {
  const from = pixel(arrow.from, pen);
  const to = pixel(arrow.to, pen);
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
  const { x, y } = pixel(ring.center, pen);
  const rx = Math.max(pen.halo, ring.radiusX * pen.width);
  const ry = Math.max(pen.halo, ring.radiusY * pen.height);
  const arc = `A${fine(rx)} ${fine(ry)} 0 1 0 `;
  return `M${spell({ x: x - rx, y })}${arc}${spell({ x: x + rx, y })}${arc}${spell({ x: x - rx, y })}Z`;
}

/** A dot at the place and the words beside it, moved inside the picture where they would leave it. */
function drawNote(note: Note, pen: Pen): readonly MarkShape[] {
  const { x: cx, y: cy } = pixel(note.at, pen);
  const dot = (layer: Layer, r: number): MarkShape => ({ kind: "circle", markId: note.id, layer, cx: fine(cx), cy: fine(cy), r });
  const fontSize = pen.ink * 5;
  const block = wrapNote(note.text, { x: cx, y: cy }, { ...pen, fontSize, gap: pen.ink * 4 });
  const words = (layer: Layer, strokeWidth: number): readonly MarkShape[] =>
    block.lines.map((text, index) => ({
      kind: "text",
      markId: note.id,
      layer,
      x: fine(block.left),
      y: fine(block.firstBaseline + index * block.lineHeight),
      text,
      fontSize: block.fontSize,
      strokeWidth,
    }));
  return [
    dot("halo", pen.ink * 2.6),
    dot("ink", pen.ink * 2),
    ...words("halo", block.fontSize / 4),
    ...words("ink", 0),
  ];
}

/** A hundredth of a pixel is finer than anything shown. */
const fine = (value: number): number => Math.round(value * 100) / 100;
const spell = ({ x, y }: Pixel): string => `${fine(x)} ${fine(y)}`;
