import { describe, expect, it } from "vitest";
import hashes from "@/tests/checks/difference-hash.json";
import laplacian from "@/tests/checks/laplacian.json";
import { exposure, lightOf } from "@/lib/domain/photo/exposure";
import { atMeasuredSize, greyOf, shrink, type GreyImage } from "@/lib/domain/photo/grey";
import { differenceHash, hashDistance, maybeSamePicture, pictureHash } from "@/lib/domain/photo/perceptual-hash";
import { sharpness } from "@/lib/domain/photo/sharpness";

function picture(width: number, height: number, value: (x: number, y: number) => number): GreyImage {
  const pixels = Uint8Array.from({ length: width * height }, (_, at) => value(at % width, Math.floor(at / width)));
  return { width, height, pixels };
}

/** The check images, made from the formula each row states. */
const formulas: Readonly<Record<string, (x: number, y: number) => number>> = {
  constant_128: () => 128,
  ramp_8x: (x) => 8 * x,
  checker_1px: (x, y) => 255 * ((x + y) % 2),
  checker_4px: (x, y) => 255 * ((Math.floor(x / 4) + Math.floor(y / 4)) % 2),
  impulse: (x, y) => (x === 8 && y === 8 ? 255 : 0),
  step_edge: (x) => (x < 8 ? 0 : 200),
  modular: (x, y) => (37 * x + 91 * y + 13 * x * y) % 256,
};

describe("sharpness, against OpenCV and exact fractions", () => {
  it("holds 8 images", () => expect(laplacian.images).toHaveLength(8));
  it.each(laplacian.images)("$name: $formula", (image) => {
    const made = formulas[image.name] ?? ((x: number, y: number) => image.pixels?.[y]?.[x] ?? Number.NaN);
    expect(Math.abs(sharpness(picture(image.width, image.height, made)) - image.reflect101)).toBeLessThanOrEqual(1e-9);
  });

  it("takes pictures one pixel wide and refuses empty ones", () => {
    // By hand: (2·10 − 2·0), (0 + 0 − 20): values 20 and −20, variance 400.
    expect(sharpness({ width: 2, height: 1, pixels: Uint8Array.of(0, 10) })).toBe(400);
    expect(sharpness({ width: 1, height: 1, pixels: Uint8Array.of(9) })).toBe(0);
    expect(() => sharpness({ width: 0, height: 0, pixels: new Uint8Array() })).toThrow(RangeError);
  });
});

describe("picture hash", () => {
  it("of the check grid and its mirror image", () => {
    expect(differenceHash(hashes.grid.flat())).toBe(hashes.hash);
    const mirrored = differenceHash(hashes.grid.flatMap((row) => row.toReversed()));
    expect(mirrored).toBe(hashes.mirroredHash);
    expect(hashDistance(hashes.hash, mirrored)).toBe(hashes.distanceToMirror);
    expect(differenceHash(Array.from({ length: 72 }, () => 128))).toBe(hashes.flatHash);
  });

  it("of a picture already 9 × 8 is that of its grid", () => {
    expect(pictureHash(picture(9, 8, (x, y) => hashes.grid[y]?.[x] ?? 0))).toBe(hashes.hash);
    // Every grid value as a 10 × 10 block: the area mean gives the grid back.
    expect(pictureHash(picture(90, 80, (x, y) => hashes.grid[Math.floor(y / 10)]?.[Math.floor(x / 10)] ?? 0))).toBe(hashes.hash);
  });

  it.each(hashes.distances.map(([a, b, distance]) => ({ a: String(a), b: String(b), distance })))("$a and $b differ by $distance", ({ a, b, distance }) => {
    expect(hashDistance(a, b)).toBe(distance);
  });

  it("calls no plain wall the same picture, and refuses what is no hash", () => {
    expect(maybeSamePicture(hashes.flatHash, hashes.flatHash)).toBe(false);
    expect(maybeSamePicture("ffffffffffffffff", "ffffffffffffffff")).toBe(false);
    expect(maybeSamePicture(hashes.hash, hashes.hash)).toBe(true);
    expect(maybeSamePicture(hashes.hash, hashes.mirroredHash)).toBe(false);
    expect(() => hashDistance("", "")).toThrow(RangeError);
    expect(() => hashDistance("g".repeat(16), hashes.hash)).toThrow(RangeError);
    expect(() => differenceHash([1, 2, 3])).toThrow(RangeError);
  });
});

describe("grey and shrinking", () => {
  it("weighs red, green and blue as ITU-R BT.601 does, and passes over the fourth channel", () => {
    const pixels = Uint8ClampedArray.of(255, 0, 0, 0, 0, 255, 0, 9, 0, 0, 255, 255, 255, 255, 255, 255);
    expect([...greyOf({ width: 2, height: 2, channels: 4, pixels }).pixels]).toEqual([76, 150, 29, 255]);
    expect([...greyOf({ width: 1, height: 1, channels: 3, pixels: Uint8Array.of(10, 20, 30) }).pixels]).toEqual([18]);
    expect(() => greyOf({ width: 2, height: 1, channels: 3, pixels: Uint8Array.of(1, 2, 3) })).toThrow(RangeError);
  });

  it("takes the mean of the area each new pixel covers", () => {
    expect([...shrink({ width: 3, height: 1, pixels: Uint8Array.of(0, 90, 180) }, 2, 1).pixels]).toEqual([30, 150]);
    expect([...shrink(picture(4, 4, (x, y) => 10 * x + 40 * y), 2, 2).pixels]).toEqual([25, 45, 105, 125]);
  });

  it("measures at a longest side of 1024 and enlarges nothing", () => {
    expect(atMeasuredSize(picture(2048, 100, () => 7))).toMatchObject({ width: 1024, height: 50 });
    expect(atMeasuredSize(picture(3, 5000, () => 7))).toMatchObject({ width: 1, height: 1024 });
    const small = picture(640, 480, () => 7);
    expect(atMeasuredSize(small)).toBe(small);
  });
});

describe("light", () => {
  it("is the mean, the shares at both ends and the spread between", () => {
    const measured = exposure({ width: 10, height: 10, pixels: Uint8Array.from({ length: 100 }, (_, at) => (at < 20 ? 0 : at < 90 ? 100 : 255)) });
    expect(measured).toEqual({ mean: 95.5, darkShare: 0.2, lightShare: 0.1, spread: 255 });
    expect(() => exposure({ width: 0, height: 0, pixels: new Uint8Array() })).toThrow(RangeError);
  });

  it.each([
    [{ mean: 49.9, darkShare: 0, lightShare: 0, spread: 100 }, "dark"],
    [{ mean: 90, darkShare: 0.51, lightShare: 0.2, spread: 255 }, "dark"],
    [{ mean: 216, darkShare: 0, lightShare: 0, spread: 100 }, "bright"],
    [{ mean: 150, darkShare: 0, lightShare: 0.31, spread: 200 }, "bright"],
    [{ mean: 120, darkShare: 0, lightShare: 0, spread: 49 }, "low-contrast"],
    [{ mean: 120, darkShare: 0.5, lightShare: 0.3, spread: 50 }, "ok"],
    [{ mean: 120, darkShare: 0, lightShare: 0 }, "ok"],
  ])("%j is %s", (measured, light) => {
    expect(lightOf(measured)).toBe(light);
  });
});
