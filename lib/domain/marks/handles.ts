import { photoPoint, type PhotoPoint } from "@/lib/domain/marks/geometry";
import type { Mark, Ring } from "@/lib/domain/marks/marks";

/** What of a mark can be moved by itself. `across` and `down` are a ring's two radii. */
export type HandleKey = "from" | "vertex" | "to" | "across" | "down";
export type Handle = { readonly key: HandleKey; readonly at: PhotoPoint };

/** A ring of no more than this fraction could not be seen. */
const LEAST_RADIUS = 0.01;

/** Where a mark is taken hold of to turn, stretch or bend it; a note has none and moves as a whole. */
export function handlesOf(mark: Mark): readonly Handle[] {
  switch (mark.kind) {
    case "arrow":
    case "line":
      return [{ key: "from", at: mark.from }, { key: "to", at: mark.to }];
    case "angle":
      return [{ key: "from", at: mark.from }, { key: "vertex", at: mark.vertex }, { key: "to", at: mark.to }];
    case "ring":
      return ringHandles(mark);
    case "note":
      return [];
  }
}

/** On the ring's right and under it, or on its other side where that lies outside the photo. */
function ringHandles({ center, radiusX, radiusY }: Ring): readonly Handle[] {
  const beside = (middle: number, radius: number) => (middle + radius > 1 ? middle - radius : middle + radius);
  return [
    { key: "across", at: photoPoint(beside(center.x, radiusX), center.y) },
    { key: "down", at: photoPoint(center.x, beside(center.y, radiusY)) },
  ];
}

/** The mark with one handle brought to a place. A handle that the mark does not have changes nothing. */
export function moveHandle(mark: Mark, key: HandleKey, to: PhotoPoint): Mark {
  switch (mark.kind) {
    case "arrow":
    case "line":
      return key === "from" || key === "to" ? { ...mark, [key]: to } : mark;
    case "angle":
      return key === "from" || key === "vertex" || key === "to" ? { ...mark, [key]: to } : mark;
    case "ring":
      if (key === "across") return { ...mark, radiusX: radius(to.x - mark.center.x) };
      return key === "down" ? { ...mark, radiusY: radius(to.y - mark.center.y) } : mark;
    case "note":
      return mark;
  }
}

/** One handle moved by fractions of the photo: the arrow keys. */
export function nudgeHandle(mark: Mark, key: HandleKey, dx: number, dy: number): Mark {
  const handle = handlesOf(mark).find((each) => each.key === key);
  return handle ? moveHandle(mark, key, photoPoint(handle.at.x + dx, handle.at.y + dy)) : mark;
}

const radius = (length: number): number => Math.min(1, Math.max(LEAST_RADIUS, Math.abs(length)));
