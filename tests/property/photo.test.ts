import * as fc from "fast-check";
import { expect, it } from "vitest";
import { greyOf, shrink, type GreyImage } from "@/lib/domain/photo/grey";
import { orientationOf, turnUpright, uprightSize } from "@/lib/domain/photo/orientation";
import { differenceHash, hashDistance } from "@/lib/domain/photo/perceptual-hash";
import { sharpness } from "@/lib/domain/photo/sharpness";
import { greyMap } from "@/lib/photos/found-codes.mjs";
import { opaque } from "@/lib/photos/opaque.mjs";

const size = fc.integer({ min: 1, max: 14 });
const picture: fc.Arbitrary<GreyImage> = fc.tuple(size, size).chain(([width, height]) =>
  fc.uint8Array({ minLength: width * height, maxLength: width * height }).map((pixels) => ({ width, height, pixels })),
);
const orientation = fc.integer({ min: 1, max: 8 }).map(orientationOf);

/** The definition said again, in floating point, one pixel at a time, two passes. */
function sharpnessRestated({ width, height, pixels }: GreyImage): number {
  const at = (x: number, y: number) => {
    const fold = (one: number, length: number) => (length === 1 ? 0 : one < 0 ? 1 : one === length ? length - 2 : one);
    return pixels[fold(y, height) * width + fold(x, width)] ?? Number.NaN;
  };
  const values = Array.from(pixels, (_, index) => {
    const [x, y] = [index % width, Math.floor(index / width)];
    return at(x - 1, y) + at(x + 1, y) + at(x, y - 1) + at(x, y + 1) - 4 * at(x, y);
  });
  const mean = values.reduce((sum, one) => sum + one, 0) / values.length;
  return values.reduce((sum, one) => sum + (one - mean) ** 2, 0) / values.length;
}

it("sharpness is its definition, and the same whichever way the picture is turned", () => {
  fc.assert(
    fc.property(picture, orientation, (image, turn) => {
      const measured = sharpness(image);
      expect(Math.abs(measured - sharpnessRestated(image))).toBeLessThanOrEqual(1e-9 * Math.max(1, measured));
      const turned = { ...uprightSize(image, turn), pixels: turnUpright(image.pixels, image, 1, turn) };
      expect(sharpness(turned)).toBe(measured);
    }),
  );
});

it("turning keeps every pixel, and turning back restores the picture", () => {
  const back = [1, 2, 3, 4, 5, 8, 7, 6];
  fc.assert(
    fc.property(picture, orientation, (image, turn) => {
      const turned = turnUpright(image.pixels, image, 1, turn);
      const undo = orientationOf(back[turn - 1]);
      expect(turnUpright(turned, uprightSize(image, turn), 1, undo)).toEqual(image.pixels);
    }),
  );
});

it("shrinking stays within the picture's greys and keeps its mean to half a step", () => {
  fc.assert(
    fc.property(picture, fc.double({ min: 0, max: 1, noNaN: true }), fc.double({ min: 0, max: 1, noNaN: true }), (image, w, h) => {
      const small = shrink(image, Math.max(1, Math.round(w * image.width)), Math.max(1, Math.round(h * image.height)));
      const mean = (pixels: Uint8Array) => pixels.reduce((sum, one) => sum + one, 0) / pixels.length;
      expect(Math.abs(mean(small.pixels) - mean(image.pixels))).toBeLessThanOrEqual(0.5 + 1e-3);
      expect(Math.min(...small.pixels)).toBeGreaterThanOrEqual(Math.min(...image.pixels));
      expect(Math.max(...small.pixels)).toBeLessThanOrEqual(Math.max(...image.pixels));
    }),
  );
});

it("mirroring reverses each row of the hash and flips the bits where neighbours differ", () => {
  const grid = fc.array(fc.integer({ min: 0, max: 255 }), { minLength: 72, maxLength: 72 });
  fc.assert(
    fc.property(grid, (values) => {
      const rows = Array.from({ length: 8 }, (_, at) => values.slice(at * 9, at * 9 + 9));
      const ties = rows.flatMap((row) => row.slice(1).filter((one, at) => one === row[at])).length;
      const ones = (hash: string) => hashDistance(hash, "0000000000000000");
      const mirrored = differenceHash(rows.flatMap((row) => row.toReversed()));
      expect(ones(differenceHash(values)) + ones(mirrored)).toBe(64 - ties);
    }),
  );
});

it("opacity is left out of as many pixels as there are, and nothing is touched where something is seen through", () => {
  fc.assert(
    fc.property(fc.array(fc.tuple(fc.nat(255), fc.nat(255), fc.nat(255)), { minLength: 1, maxLength: 40 }), fc.nat(254), fc.nat(39), (colours, less, at) => {
      const solid = Uint8ClampedArray.from(colours.flatMap((colour) => [...colour, 255]));
      expect([...(opaque(solid.slice()) ?? [])]).toEqual(colours.flat());
      const thin = solid.slice();
      thin[(at % colours.length) * 4 + 3] = less;
      const before = thin.slice();
      expect(opaque(thin)).toBeNull();
      expect(thin).toEqual(before);
    }),
  );
});

it("the grey in which codes are looked for is the grey that is measured, within the rounding", () => {
  fc.assert(
    fc.property(fc.constantFrom(1 as const, 3 as const, 4 as const), size, size, fc.infiniteStream(fc.nat(255)), (channels, width, height, values) => {
      const pixels = Uint8Array.from(values.take(width * height * channels));
      const map = greyMap({ pixels, width, height, channels });
      const head = `P5\n${width} ${height}\n255\n`;
      expect(Buffer.from(map).toString("latin1", 0, head.length)).toBe(head);
      const measured = greyOf({ width, height, channels, pixels }).pixels;
      expect(map.length).toBe(head.length + measured.length);
      measured.forEach((grey, at) => expect(Math.abs((map[head.length + at] ?? Number.NaN) - grey)).toBeLessThanOrEqual(1));
    }),
  );
});
