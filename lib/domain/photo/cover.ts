import type { Size } from "@/lib/domain/photo/orientation";
import type { Point, Quad } from "@/lib/domain/photo/homography";

/** A part of a picture that nobody shall see: fractions of the picture, its top left first. */
export type Cover = { readonly x: number; readonly y: number; readonly width: number; readonly height: number };
export type QuarterTurns = 0 | 1 | 2 | 3;

/** Smaller than this share of a side, a cover cannot be seen or taken hold of. */
export const SMALLEST_COVER = 0.04;
export const MOST_COVERS = 8;
/** Where a cover placed by a button stands at first. */
export const FIRST_COVER: Cover = { x: 0.4, y: 0.4, width: 0.2, height: 0.2 };

const clamp = (value: number, low: number, high: number): number => Math.min(high, Math.max(low, value));

/** The cover between two points, in whatever order they were touched; null when it is too small to be meant. */
export function coverBetween(one: Point, other: Point): Cover | null {
  const [x, right] = [one.x, other.x].map((at) => clamp(at, 0, 1)).sort((a, b) => a - b) as [number, number]; // two in, two out
  const [y, bottom] = [one.y, other.y].map((at) => clamp(at, 0, 1)).sort((a, b) => a - b) as [number, number]; // two in, two out
  const cover = { x, y, width: right - x, height: bottom - y };
  return cover.width < SMALLEST_COVER || cover.height < SMALLEST_COVER ? null : cover;
}

/** Moved within the picture. */
export const movedCover = (cover: Cover, by: Point): Cover =>
  ({ ...cover, x: clamp(cover.x + by.x, 0, 1 - cover.width), y: clamp(cover.y + by.y, 0, 1 - cover.height) });

/** Both sides made larger or smaller by these shares of the picture, from the top left, within the picture. */
export const sizedCover = (cover: Cover, by: Point): Cover => ({
  ...cover,
  width: clamp(cover.width + by.x, SMALLEST_COVER, 1 - cover.x),
  height: clamp(cover.height + by.y, SMALLEST_COVER, 1 - cover.y),
});

/** Where a point and a cover stand after the picture was turned once, clockwise. */
export const turnedPoint = ({ x, y }: Point): Point => ({ x: 1 - y, y: x });
export const turnedCover = ({ x, y, width, height }: Cover): Cover => ({ x: 1 - y - height, y: x, width: height, height: width });

/** The pixels a cover takes, outward to whole ones. */
export function coverPixels(cover: Cover, size: Size): Cover {
  const [x, y] = [Math.floor(cover.x * size.width), Math.floor(cover.y * size.height)];
  return { x, y, width: Math.ceil((cover.x + cover.width) * size.width) - x, height: Math.ceil((cover.y + cover.height) * size.height) - y };
}

/** The code needs four modules of bare paper on each side to be found (ISO/IEC 18004), of the 21 it is wide. */
const QUIET = 4 / 21;

/** Whether a cover would hide some of the side card, by the box round its code: then nothing would prove the side. */
export function hidesCard(covers: readonly Cover[], corners: Quad): boolean {
  const reach = (of: "x" | "y"): readonly [number, number] => {
    const [low, high] = [Math.min(...corners.map((corner) => corner[of])), Math.max(...corners.map((corner) => corner[of]))];
    return [low - QUIET * (high - low), high + QUIET * (high - low)];
  };
  const [left, right] = reach("x");
  const [top, bottom] = reach("y");
  return covers.some(({ x, y, width, height }) => x < right && x + width > left && y < bottom && y + height > top);
}
