import type { PhotoPoint } from "@/lib/domain/marks/geometry";
import type { Angle, Line, Mark } from "@/lib/domain/marks/marks";
import type { Size } from "@/lib/domain/marks/viewport";

type Pixel = { readonly x: number; readonly y: number };

/**
 * Degrees, 0 to 180, between the rays from `vertex` to `a` and to `b`; null when a ray has no length.
 * By atan2(|cross|, dot): near 0 and 180 the arc cosine loses half of its digits.
 */
export function angleAt(a: Pixel, vertex: Pixel, b: Pixel): number | null {
  const [ax, ay, bx, by] = [a.x - vertex.x, a.y - vertex.y, b.x - vertex.x, b.y - vertex.y];
  if ((ax === 0 && ay === 0) || (bx === 0 && by === 0)) return null;
  return (Math.atan2(Math.abs(ax * by - ay * bx), ax * bx + ay * by) * 180) / Math.PI;
}

/**
 * Degrees, 0 to 90, between a line and true level; null when the line has no length. `levelDegrees`
 * says how level runs in the picture: how far its right end points below the picture's own
 * horizontal, positive when the picture is turned clockwise.
 */
export function toLevel(from: Pixel, to: Pixel, levelDegrees: number): number | null {
  const turn = (levelDegrees * Math.PI) / 180;
  const open = angleAt(to, from, { x: from.x + Math.cos(turn), y: from.y + Math.sin(turn) });
  return open === null ? null : Math.min(open, 180 - open);
}

export const inPixels = (point: PhotoPoint, { width, height }: Size): Pixel => ({ x: point.x * width, y: point.y * height });

/**
 * What a mark measures in an upright photo of that size, in whole degrees: an angle always, a line
 * only against a known level, nothing else. Null when there is nothing to measure. Whole degrees,
 * because an angle pointed out on a family's photo is right to 5 degrees at best (design rule from
 * the limits of agreement of photo goniometers at the knee, -7.5 to +10.7 degrees).
 */
export function readingOf(mark: Mark, photo: Size, levelDegrees: number | null): number | null {
  const value = mark.kind === "angle" ? angleOf(mark, photo) : mark.kind === "line" && levelDegrees !== null ? levelOf(mark, photo, levelDegrees) : null;
  return value === null ? null : Math.round(value);
}

const angleOf = ({ from, vertex, to }: Angle, photo: Size) => angleAt(inPixels(from, photo), inPixels(vertex, photo), inPixels(to, photo));
const levelOf = ({ from, to }: Line, photo: Size, level: number) => toLevel(inPixels(from, photo), inPixels(to, photo), level);

/** Two readings of one angle must differ by this much before anyone may speak of a change (same source). */
export const LEAST_CHANGE_DEGREES = 10;

/** Whether two readings, in whole degrees, may be called different. */
export const isChange = (a: number, b: number): boolean => Math.abs(a - b) >= LEAST_CHANGE_DEGREES;
