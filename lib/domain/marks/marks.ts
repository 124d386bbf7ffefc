import { photoPoint, type PhotoPoint } from "@/lib/domain/marks/geometry";

/** Limits of what is stored with one photo (the byte limit is on its JSON, in UTF-8). */
export const MARKS_LIMIT = 60;
export const NOTE_LIMIT = 280;
export const MARKS_BYTES_LIMIT = 256 * 1024;

/** `itemKey`: the checklist item a mark belongs to, or null. */
type Common = { readonly id: string; readonly itemKey: string | null };

export type Arrow = Common & { readonly kind: "arrow"; readonly from: PhotoPoint; readonly to: PhotoPoint };
/** Radii are fractions of the photo's width and height. */
export type Ring = Common & {
  readonly kind: "ring";
  readonly center: PhotoPoint;
  readonly radiusX: number;
  readonly radiusY: number;
};
export type Note = Common & { readonly kind: "note"; readonly at: PhotoPoint; readonly text: string };

export type Mark = Arrow | Ring | Note;

/**
 * The mark moved by fractions of the photo, its shape kept: a move that would take it over the edge
 * stops there. A ring's centre and a note's anchor stay inside; a ring may reach over the edge.
 */
export function moveMark(mark: Mark, dx: number, dy: number): Mark {
  const points = anchors(mark);
  const byX = withinEdges(points.map((point) => point.x), dx);
  const byY = withinEdges(points.map((point) => point.y), dy);
  const moved = (point: PhotoPoint) => photoPoint(point.x + byX, point.y + byY);
  switch (mark.kind) {
    case "arrow":
      return { ...mark, from: moved(mark.from), to: moved(mark.to) };
    case "ring":
      return { ...mark, center: moved(mark.center) };
    case "note":
      return { ...mark, at: moved(mark.at) };
  }
}

/** One end of an arrow moved, the other left where it is: turning and stretching by keyboard. */
export const moveArrowEnd = (arrow: Arrow, end: "from" | "to", dx: number, dy: number): Arrow => ({
  ...arrow,
  [end]: photoPoint(arrow[end].x + dx, arrow[end].y + dy),
});

/** A ring made wider or taller by fractions of the photo; never so small that it cannot be seen. */
export const resizeRing = (ring: Ring, dx: number, dy: number): Ring => ({
  ...ring,
  radiusX: withinRadius(ring.radiusX + dx),
  radiusY: withinRadius(ring.radiusY + dy),
});

const withinRadius = (radius: number): number => Math.min(1, Math.max(0.01, radius));

/** The points a mark hangs on: what a finger takes hold of, and what stays inside the photo. */
export function anchors(mark: Mark): readonly PhotoPoint[] {
  switch (mark.kind) {
    case "arrow":
      return [mark.from, mark.to];
    case "ring":
      return [mark.center];
    case "note":
      return [mark.at];
  }
}

const withinEdges = (values: readonly number[], by: number): number =>
  Math.min(1 - Math.max(...values), Math.max(-Math.min(...values), by));
