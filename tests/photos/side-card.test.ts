import jsQR from "jsqr";
import sharp from "sharp";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { CodeReader } from "@/lib/photos/code-reader.mjs";
import { DecoderPool } from "@/lib/photos/decoder-pool";
import { takeIn } from "@/lib/photos/intake";
import type { PreparedPhoto } from "@/lib/photos/prepared";
import { asPhoto, cornersOf, numberFrom, placeCard, randomFrom, type Placed } from "@/tests/photos/card-scene";
import { isModerate, MODULE_SIZES, tryCards } from "@/tests/photos/card-trials";
import { asStored, meanDifference, pixelsOf, type Pixels } from "@/tests/photos/pixels";
import { photo24Mp, registryPhoto } from "@/tests/photos/sources";

const pool = new DecoderPool("photos");
beforeAll(() => pool.warm());
afterAll(() => pool.close());

async function taken(bytes: Uint8Array): Promise<PreparedPhoto> {
  const result = await takeIn(bytes, {}, pool);
  if (!result.ok) throw new Error(result.problem.code);
  return result.value;
}

const NUMBER = numberFrom(randomFrom(1));
const card = (changed: Partial<Placed> = {}): Placed =>
  ({ text: NUMBER, modulePixels: 6, at: { x: 0.25, y: 0.6 }, roll: 4, yaw: 8, pitch: 0, blur: 0.15, paper: 0.85, ink: 0.1, ...changed });
const starfish = () => pixelsOf(registryPhoto("exif-parser/test/starfish.jpg"));
const found = ({ card: finding }: PreparedPhoto) => {
  if (finding?.found !== "one") throw new Error("one card");
  return finding.reading;
};
const flop = async ({ data, width, height }: Pixels): Promise<Pixels> =>
  ({ width, height, data: await sharp(data, { raw: { width, height, channels: 3 } }).flop().raw().toBuffer() });

describe("a card in a real photo", () => {
  test("40 cases of every size: none mirrored wrongly, all moderate ones of 3 pixels a module found", async () => {
    const trials = await tryCards(Array.from({ length: 40 }, (_, seed) => seed), pool);
    expect(new Set(trials.map(({ modulePixels }) => modulePixels)).size).toBe(MODULE_SIZES.length);
    expect(trials.filter(({ outcome }) => outcome !== "found" && outcome !== "missed")).toEqual([]);
    expect(trials.filter(({ mirrored }) => mirrored).length).toBeGreaterThan(10);
    const large = trials.filter((trial) => trial.modulePixels >= 3 && isModerate(trial));
    expect(large.length).toBeGreaterThan(8);
    expect(large.filter(({ outcome }) => outcome === "found")).toHaveLength(large.length);
  });

  test("says where it stands: corners within a pixel and a half of where it was put, and an outside reader reads the same there", async () => {
    const scene = await placeCard(await starfish(), card());
    const photo = await taken(await asPhoto(scene, { quality: 90, mirrored: false }));
    const { corners, number } = found(photo);
    const truth = cornersOf(card(), scene);
    corners.forEach(({ x, y }, at) => {
      expect(Math.abs(x * scene.width - (truth[at]?.x ?? 0))).toBeLessThan(1.5);
      expect(Math.abs(y * scene.height - (truth[at]?.y ?? 0))).toBeLessThan(1.5);
    });
    const { data, info } = await sharp(photo.sizes[0].bytes).ensureAlpha().raw().toBuffer({ resolveWithObject: true });
    const second = jsQR(new Uint8ClampedArray(data), info.width, info.height);
    expect(second?.data).toBe(number);
    expect(Math.hypot((second?.location.topLeftCorner.x ?? 0) - (truth[0].x), (second?.location.topLeftCorner.y ?? 0) - truth[0].y)).toBeLessThan(6);
  });

  test("a picture that came mirror-reversed is kept true in every size, as sharp as one that did not", async () => {
    const scene = await placeCard(await starfish(), card());
    const [straight, mirrored] = await Promise.all([false, true].map(async (isMirrored) => taken(await asPhoto(scene, { quality: 90, mirrored: isMirrored }))));
    if (!straight || !mirrored) throw new Error("both");
    expect([found(straight).mirrored, found(mirrored).mirrored]).toEqual([false, true]);
    for (const at of [0, 1, 2] as const) {
      expect(meanDifference(await pixelsOf(straight.sizes[at].bytes), await pixelsOf(mirrored.sizes[at].bytes))).toBeLessThan(6);
    }
    expect(meanDifference(await pixelsOf(straight.placeholder.bytes), await pixelsOf(mirrored.placeholder.bytes))).toBeLessThan(8);
    expect(mirrored.measures.sharpness).toBeCloseTo(straight.measures.sharpness, -2);
    expect(mirrored.measures.hash).toBe(straight.measures.hash);
    found(mirrored).corners.forEach(({ x, y }, at) => {
      expect(x).toBeCloseTo(found(straight).corners[at]?.x ?? 0, 2);
      expect(y).toBeCloseTo(found(straight).corners[at]?.y ?? 0, 2);
    });
  });

  // CIPA DC-008: 2, 4, 5 and 7 are mirrored; what counts is what the pixels show once they are applied.
  test.each([1, 2, 3, 4, 5, 6, 7, 8])("under EXIF orientation %d the pixels decide, not the flag", async (orientation) => {
    const scene = await placeCard(await starfish(), card());
    for (const isMirrored of [false, true]) {
      const { data, width, height } = asStored(isMirrored ? await flop(scene) : scene, orientation);
      const photo = await taken(await sharp(data, { raw: { width, height, channels: 3 } }).withMetadata({ orientation }).jpeg({ quality: 90 }).toBuffer());
      expect(photo.mirroredFlag).toBe([2, 4, 5, 7].includes(orientation));
      expect(found(photo)).toMatchObject({ mirrored: isMirrored, turnToUpright: 0, number: NUMBER });
      expect(meanDifference(await pixelsOf(photo.sizes[0].bytes), scene)).toBeLessThan(4);
      // A mirrored picture's are those of the picture flipped back, which is the scene.
      cornersOf(card(), scene).forEach((truth, at) => {
        const { x = Number.NaN, y = Number.NaN } = found(photo).corners[at] ?? {};
        expect(Math.hypot(x * scene.width - truth.x, y * scene.height - truth.y)).toBeLessThan(2.5);
      });
    }
  });

  test("says how to turn a picture that lies on its side", async () => {
    for (const [roll, turnToUpright] of [[90, 270], [184, 180], [-93, 90]] as const) {
      expect(found(await taken(await asPhoto(await placeCard(await starfish(), card({ roll })), { quality: 90, mirrored: roll === 184 })))).toMatchObject({ turnToUpright });
    }
  });

  test("too small at the kept size, it is found in what the camera gave", async () => {
    const large = await pixelsOf(await sharp(photo24Mp()).resize(4096).jpeg({ quality: 100 }).toBuffer());
    const small = card({ modulePixels: 2, blur: 0, yaw: 0 });
    const shrunk = await sharp(await asPhoto(await placeCard(large, small), { quality: 95, mirrored: true })).resize(2048).jpeg({ quality: 95 }).toBuffer();
    expect((await taken(shrunk)).card).toBeNull();
    expect(found(await taken(await asPhoto(await placeCard(large, small), { quality: 95, mirrored: true })))).toMatchObject({ mirrored: true, number: NUMBER });
  });
});

describe("what is no proof settles nothing", () => {
  test("foreign codes, and a number with a wrong check character", async () => {
    const wrong = NUMBER.slice(0, -1) + (NUMBER.endsWith("0") ? "1" : "0");
    for (const text of ["HTTPS://EXAMPLE.ORG", wrong]) {
      expect((await taken(await asPhoto(await placeCard(await starfish(), card({ text })), { quality: 90, mirrored: false }))).card).toBeNull();
    }
  });

  test("two cards, and a card beside its own reflection", async () => {
    const one = await placeCard(await starfish(), card());
    const two = await placeCard(one, card({ text: numberFrom(randomFrom(2)), at: { x: 0.75, y: 0.6 } }));
    expect((await taken(await asPhoto(two, { quality: 90, mirrored: false }))).card).toEqual({ found: "several" });
    const reflected = await placeCard(await flop(one), card());
    expect((await taken(await asPhoto(reflected, { quality: 90, mirrored: false }))).card).toEqual({ found: "several" });
  });

  test("a card half covered", async () => {
    const scene = await placeCard(await starfish(), card());
    const cover = await sharp({ create: { width: 90, height: 160, channels: 3, background: "#777" } }).png().toBuffer();
    const covered = await sharp(scene.data, { raw: { width: scene.width, height: scene.height, channels: 3 } })
      .composite([{ input: cover, left: Math.round(scene.width * 0.25), top: Math.round(scene.height * 0.6) - 80 }]).jpeg({ quality: 90 }).toBuffer();
    expect((await taken(covered)).card).toBeNull();
  });
});

describe("the reader", () => {
  test("ends a search that takes too long, and reads the next picture", async () => {
    const { data, info } = await sharp(await asPhoto(await placeCard(await starfish(), card()), { quality: 90, mirrored: false })).greyscale().extractChannel(0).raw().toBuffer({ resolveWithObject: true });
    const picture = { pixels: data, width: info.width, height: info.height };
    expect((await new CodeReader(1).read(picture)).codes).toEqual([]);
    const reader = new CodeReader();
    expect((await reader.read({ pixels: data.subarray(0, 10), width: info.width, height: info.height })).codes, "a fault of its own").toEqual([]);
    expect((await reader.read(picture)).codes).toMatchObject([{ text: NUMBER, mirrored: false }]);
  });
});
