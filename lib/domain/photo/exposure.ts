import type { GreyImage } from "@/lib/domain/photo/grey";

export type Exposure = {
  /** Mean grey, 0..255. */
  readonly mean: number;
  /** Share of pixels crushed to black (grey at most 10), 0..1. */
  readonly darkShare: number;
  /** Share of pixels burnt to white (grey at least 250), 0..1. */
  readonly lightShare: number;
  /** Grey steps between the 5th and the 95th percentile, 0..255. */
  readonly spread: number;
};

export const LIGHTS = ["ok", "dark", "bright", "low-contrast"] as const;
export type Light = (typeof LIGHTS)[number];

const CRUSHED = 10;
const BURNT = 250;

/** How the greys of a picture are spread. Throws on an empty picture. */
export function exposure({ pixels }: GreyImage): Exposure {
  if (pixels.length === 0) throw new RangeError("No pixels.");
  const counts = new Float64Array(256);
  for (const grey of pixels) counts[grey] = (counts[grey] ?? 0) + 1;
  let [sum, dark, light] = [0, 0, 0];
  counts.forEach((count, grey) => {
    sum += count * grey;
    if (grey <= CRUSHED) dark += count;
    if (grey >= BURNT) light += count;
  });
  return {
    mean: sum / pixels.length,
    darkShare: dark / pixels.length,
    lightShare: light / pixels.length,
    spread: percentile(counts, pixels.length, 0.95) - percentile(counts, pixels.length, 0.05),
  };
}

/**
 * What to say of the light. The limits are common practice, no source, tried on a few real photos
 * made darker, lighter and flatter: they warn, never refuse. A dark room with one lamp or a child
 * on a white sheet may pass or fail them wrongly.
 */
export function lightOf(measured: Omit<Exposure, "spread"> & { readonly spread?: number }): Light {
  if (measured.mean < 50 || measured.darkShare > 0.5) return "dark";
  if (measured.mean > 215 || measured.lightShare > 0.3) return "bright";
  if (measured.spread !== undefined && measured.spread < 50) return "low-contrast";
  return "ok";
}

function percentile(counts: Float64Array, total: number, share: number): number {
  let seen = 0;
  for (let grey = 0; grey < 256; grey += 1) {
    seen += counts[grey] ?? 0;
    if (seen >= share * total) return grey;
  }
  return 255;
}
