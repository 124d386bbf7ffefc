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

/** The same covers where they lay before the picture was turned by these quarters, clockwise. */
export const unturnedCovers = (covers: readonly Cover[], turns: QuarterTurns): readonly Cover[] =>
  covers.map((cover) => Array.from({ length: (4 - turns) % 4 }).reduce<Cover>(turnedCover, cover));

/** A size of even sides, no longer than `most`, of the same shape: films hold colour for two by two pixels. */
export function evenWithin({ width, height }: Size, most: number): Size {
  const scale = Math.min(1, most / Math.max(width, height));
  const even = (side: number): number => 2 * Math.max(1, Math.round((side * scale) / 2));
  return { width: even(width), height: even(height) };
}

/** The pixels a cover takes, outward to whole ones. */
export function coverPixels(cover: Cover, size: Size): Cover {
  const [x, y] = [Math.floor(cover.x * size.width), Math.floor(cover.y * size.height)];
  return { x, y, width: Math.ceil((cover.x + cover.width) * size.width) - x, height: Math.ceil((cover.y + cover.height) * size.height) - y };
}

/** What a covered part is painted with, on photos and clips; neither black nor white, which a film's encoder may shift. */
export const COVER_COLOUR = "#7f7f7f";
const COVER_GREY = 127;
/** Steps of 255 by which an encoder may miss a flat grey, and pixels by which what is beside a cover may run into it. */
const GREY_OFF = 24;
const EDGE = 8;

/** Whether a picture, four bytes a pixel, shows nothing but the cover where it was laid; its edge is left out. */
export function isHidden(cover: Cover, size: Size, pixels: Uint8ClampedArray): boolean {
  const { x, y, width, height } = coverPixels(cover, size);
  // What would be all edge is looked at in its middle.
  const [alongX, alongY] = [Math.min(EDGE, Math.ceil(width / 2) - 1), Math.min(EDGE, Math.ceil(height / 2) - 1)];
  for (let row = y + alongY; row < y + height - alongY; row += 1) {
    for (let column = x + alongX; column < x + width - alongX; column += 1) {
      const at = (row * size.width + column) * 4;
      for (let channel = 0; channel < 3; channel += 1) if (!(Math.abs((pixels[at + channel] ?? -99) - COVER_GREY) <= GREY_OFF)) return false;
    }
  }
  return true;
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
