import { zOf, type Confidence } from "@/lib/domain/stats/normal";

export type Interval = { readonly lower: number; readonly upper: number };

/**
 * Wilson's score interval for a share of `x` in `n`, without continuity correction (J Am Stat Assoc
 * 1927;22:209-212). Null for n = 0: nothing seen says nothing. Throws unless 0 ≤ x ≤ n are whole.
 */
export const wilson = (x: number, n: number, confidence: Confidence = 0.95): Interval | null => wilsonAt(x, n, zOf(confidence));

/** So many of so many, with the interval. */
export type Share = { readonly count: number; readonly of: number; readonly interval: Interval | null };
export const share = (count: number, of: number): Share => ({ count, of, interval: wilson(count, of) });

/** The same for any standard normal quantile `z`. */
export function wilsonAt(x: number, n: number, z: number): Interval | null {
  if (!Number.isInteger(x) || !Number.isInteger(n) || x < 0 || x > n) throw new RangeError("A share needs whole numbers 0 ≤ x ≤ n.");
  if (n === 0) return null;
  const part = x / n;
  const square = z * z;
  const centre = part + square / (2 * n);
  const half = z * Math.sqrt((part * (1 - part)) / n + square / (4 * n * n));
  const scale = 1 + square / n;
  // At the ends the closed forms, which rounding would otherwise miss by a hair.
  return {
    lower: x === 0 ? 0 : x === n ? n / (n + square) : (centre - half) / scale,
    upper: x === n ? 1 : x === 0 ? square / (n + square) : (centre + half) / scale,
  };
}
