import type { PhotoPoint } from "@/lib/domain/marks/geometry";
import type { Mark } from "@/lib/domain/marks/marks";

type Pixel = { readonly x: number; readonly y: number };

/**
 * The topmost mark within `reach` pixels of a point, or null. `width` and `height` are the pixels
 * the photo is shown at, so that a finger reaches equally far in both directions.
 */
export function markAt(
  marks: readonly Mark[],
  point: PhotoPoint,
  shown: { readonly width: number; readonly height: number },
  reach: number,
): Mark | null {
  const pixel = (each: PhotoPoint): Pixel => ({ x: each.x * shown.width, y: each.y * shown.height });
  return marks.findLast((mark) => distanceTo(mark, pixel(point), pixel, shown) <= reach) ?? null;
}

function distanceTo(
  mark: Mark,
  point: Pixel,
  pixel: (each: PhotoPoint) => Pixel,
  shown: { readonly width: number; readonly height: number },
): number {
  switch (mark.kind) {
    case "arrow":
    case "line":
      return toSegment(point, pixel(mark.from), pixel(mark.to));
    case "angle":
      return Math.min(toSegment(point, pixel(mark.vertex), pixel(mark.from)), toSegment(point, pixel(mark.vertex), pixel(mark.to)));
    case "ring":
      return toRing(point, pixel(mark.center), mark.radiusX * shown.width, mark.radiusY * shown.height);
    case "note":
      return apart(point, pixel(mark.at));
  }
}

const apart = (a: Pixel, b: Pixel): number => Math.hypot(a.x - b.x, a.y - b.y);

function toSegment(point: Pixel, from: Pixel, to: Pixel): number {
  const along = { x: to.x - from.x, y: to.y - from.y };
  const length = along.x ** 2 + along.y ** 2;
  const share = length === 0 ? 0 : ((point.x - from.x) * along.x + (point.y - from.y) * along.y) / length;
  const held = Math.min(1, Math.max(0, share));
  return apart(point, { x: from.x + held * along.x, y: from.y + held * along.y });
}

/**
 * Nought inside: a ring is taken hold of anywhere in it. Outside, the distance to the ring along
 * the ray from its centre: exact for a circle, never less than the true distance otherwise.
 */
function toRing(point: Pixel, center: Pixel, radiusX: number, radiusY: number): number {
  const out = Math.hypot((point.x - center.x) / radiusX, (point.y - center.y) / radiusY);
  return out <= 1 ? 0 : apart(point, center) * (1 - 1 / out);
}
