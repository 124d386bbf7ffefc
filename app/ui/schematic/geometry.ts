import type { Side } from "@/lib/domain/sides";

/**
 * Both drawings are seen from behind, so the child's left is drawing left. Lengths are drawing
 * units, x = 0 on the midline and growing toward the child's right when upright, y growing downward.
 * Paths use absolute M, L, C and Z only: the mirrored record gives the same path with every x negated.
 */
export type Point = { readonly x: number; readonly y: number };

export const along = (side: Side): 1 | -1 => (side === "left" ? -1 : 1);

const number = (value: number): string => {
  // Rounds halves away from the midline on both sides, or mirrored paths would differ.
  const rounded = Math.round(Math.abs(value) * 100) / 100;
  return `${value < 0 && rounded > 0 ? "-" : ""}${rounded}`;
};
const pair = (at: Point): string => `${number(at.x)} ${number(at.y)}`;

export const line = (points: readonly Point[]): string => `M${points.map(pair).join("L")}`;
export const outline = (points: readonly Point[]): string => `${line(points)}Z`;

/** A smooth path: a start, then cubic pieces of two handles and an end. */
export const curve = (start: Point, ...pieces: readonly (readonly [Point, Point, Point])[]): string =>
  `M${pair(start)}${pieces.map((piece) => `C${piece.map(pair).join(" ")}`).join("")}`;

export const at = (x: number, y: number): Point => ({ x, y });
