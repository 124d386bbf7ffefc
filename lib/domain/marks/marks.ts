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
export type Line = Common & { readonly kind: "line"; readonly from: PhotoPoint; readonly to: PhotoPoint };
/** Measured at `vertex`, between the arms that end at `from` and `to`. */
export type Angle = Common & { readonly kind: "angle"; readonly from: PhotoPoint; readonly vertex: PhotoPoint; readonly to: PhotoPoint };
export type Note = Common & { readonly kind: "note"; readonly at: PhotoPoint; readonly text: string };

export type Mark = Arrow | Ring | Line | Angle | Note;
export type MarkKind = Mark["kind"];
export const MARK_KINDS = ["arrow", "ring", "line", "angle", "note"] as const satisfies readonly MarkKind[];

/** The stored form, as `parseMarks` reads it; written here, so that what draws need not bring the reader along. */
export const serialiseMarks = (marks: readonly Mark[]): string => JSON.stringify({ version: 2, marks });

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
    case "line":
      return { ...mark, from: moved(mark.from), to: moved(mark.to) };
    case "angle":
      return { ...mark, from: moved(mark.from), vertex: moved(mark.vertex), to: moved(mark.to) };
    case "ring":
      return { ...mark, center: moved(mark.center) };
    case "note":
      return { ...mark, at: moved(mark.at) };
  }
}

/** The points a mark hangs on, which stay inside the photo. */
export function anchors(mark: Mark): readonly PhotoPoint[] {
  switch (mark.kind) {
    case "arrow":
    case "line":
      return [mark.from, mark.to];
    case "angle":
      return [mark.from, mark.vertex, mark.to];
    case "ring":
      return [mark.center];
    case "note":
      return [mark.at];
  }
}

const withinEdges = (values: readonly number[], by: number): number =>
  Math.min(1 - Math.max(...values), Math.max(-Math.min(...values), by));
