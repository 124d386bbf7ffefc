import * as exifr from "exifr";
import sharp from "sharp";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { DecoderPool } from "@/lib/photos/decoder-pool";
import { readHeifHeader } from "@/lib/photos/heif-boxes";
import { takeIn } from "@/lib/photos/intake";
import { writeHeic, type HeicParts } from "./heic-writer";
import { asStored, meanDifference, pixelAt, pixelsOf, type Pixels } from "./pixels";
import { photo24Mp } from "./sources";

const pool = new DecoderPool("photos");
let upright: Pixels;

beforeAll(async () => {
  await pool.warm();
  upright = await pixelsOf(await sharp(photo24Mp()).resize(480, 320).png().toBuffer());
});
afterAll(() => pool.close());

async function taken(parts: HeicParts) {
  const result = await takeIn(writeHeic(parts), {}, pool);
  if (!result.ok) throw new Error(result.problem.code);
  return { ...result.value, pixels: await pixelsOf(result.value.sizes[0].bytes) };
}

async function exifBlock(orientation: number): Promise<Buffer> {
  const dated = { IFD0: { Make: "CANARY-MAKER" }, IFD2: { DateTimeOriginal: "2026:10:03 09:30:00", OffsetTimeOriginal: "+02:00" } };
  const jpeg = sharp({ create: { width: 8, height: 8, channels: 3, background: "#000" } }).withExif(dated).withMetadata({ orientation });
  const { exif } = await sharp(await jpeg.jpeg().toBuffer()).metadata();
  if (!exif) throw new Error("no EXIF written");
  return exif.subarray(6);
}

describe("HEIC upright", () => {
  test("as stored when nothing turns it", async () => {
    const photo = await taken({ pixels: upright, primaries: 1 });
    expect([photo.kind, photo.width, photo.height, photo.mirroredFlag]).toEqual(["heic", 480, 320, false]);
    expect(meanDifference(photo.pixels, upright)).toBeLessThan(6);
  });

  // irot counts anticlockwise quarter turns (ISO/IEC 23008-12, 6.5.10); EXIF 6, 3 and 8 say the same turns clockwise.
  test.each([[3, 6], [2, 3], [1, 8]])("container turn %i and EXIF orientation %i beside it: turned once", async (turns, orientation) => {
    const stored = asStored(upright, orientation);
    expect(meanDifference(stored, upright), "the check can fail").toBeGreaterThan(15);
    const photo = await taken({ pixels: stored, primaries: 1, turns, exif: await exifBlock(orientation) });
    expect([photo.width, photo.height]).toEqual([480, 320]);
    expect(meanDifference(photo.pixels, upright)).toBeLessThan(6);
    expect(photo.mirroredFlag).toBe(false);
  });

  test("EXIF orientation alone turns nothing: in HEIC the container decides", async () => {
    const photo = await taken({ pixels: upright, primaries: 1, exif: await exifBlock(6) });
    expect(meanDifference(photo.pixels, upright)).toBeLessThan(6);
  });

  test("a mirror in the container is applied, and flagged; so is a mirrored EXIF orientation", async () => {
    const mirrored = await taken({ pixels: upright, primaries: 1, isMirrored: true });
    expect(mirrored.mirroredFlag).toBe(true);
    const ways = [2, 4].map((orientation) => meanDifference(mirrored.pixels, asStored(upright, orientation)));
    expect(Math.min(...ways)).toBeLessThan(6);
    expect((await taken({ pixels: upright, primaries: 1, exif: await exifBlock(2) })).mirroredFlag).toBe(true);
  });
});

describe("HEIC colour", () => {
  // Display P3 numbers of the sRGB colour (200, 60, 40), by the matrices of CSS Color 4, section 17.
  const P3_NUMBERS = [186, 73, 52] as const;
  const flat: Pixels = { data: Buffer.from(Array.from({ length: 256 * 256 }, () => [...P3_NUMBERS]).flat()), width: 256, height: 256 };

  async function displayP3(): Promise<Buffer> {
    const dot = sharp({ create: { width: 8, height: 8, channels: 3, background: "#000" } });
    const { icc } = await sharp(await dot.withIccProfile("p3").png().toBuffer()).metadata();
    if (!icc) throw new Error("no profile written");
    return icc;
  }

  test.each([
    ["numbers that say sRGB stay", { primaries: 1 }, P3_NUMBERS],
    ["numbers that say Display P3 come out sRGB", { primaries: 12 }, [200, 60, 40]],
    ["a Display P3 profile outranks the numbers", { primaries: 1, icc: true }, [200, 60, 40]],
    ["a broken profile leaves the picture as it is", { primaries: 1, brokenIcc: true }, P3_NUMBERS],
  ] as const)("%s", async (_what, { primaries, ...rest }, expected) => {
    const icc = "icc" in rest ? await displayP3() : "brokenIcc" in rest ? Buffer.alloc(500, 7) : undefined;
    const photo = await taken({ pixels: flat, primaries, ...(icc ? { icc } : {}) });
    const numbers = pixelAt(photo.pixels, 128, 128);
    expected.forEach((value, index) => {
      expect(Math.abs((numbers[index] ?? Number.NaN) - value), `${numbers.join()} near ${expected.join()}`).toBeLessThanOrEqual(4);
    });
    expect((await sharp(photo.sizes[0].bytes).metadata()).hasProfile).toBe(false);
  });
});

describe("HEIC and the rest", () => {
  test("the date is read, and maker, date and EXIF are in no kept size", async () => {
    const exif = await exifBlock(1);
    const file = writeHeic({ pixels: upright, primaries: 1, exif });
    expect(file.includes("CANARY-MAKER")).toBe(true);
    const photo = await taken({ pixels: upright, primaries: 1, exif });
    expect(photo.takenAt).toEqual({ at: Date.UTC(2026, 9, 3, 7, 30), zoneKnown: true });
    for (const { bytes } of photo.sizes) {
      expect(bytes.includes("CANARY-MAKER") || bytes.includes("2026:10:03") || bytes.includes("Exif")).toBe(false);
      expect(await exifr.parse(bytes, { tiff: true, xmp: true, icc: true, iptc: true })).toBeUndefined();
    }
  });

  test("200 megapixels are refused by the header, before any decoder is asked", async () => {
    const file = writeHeic({ pixels: upright, primaries: 1, claims: { width: 16_320, height: 12_240 } });
    const startedAt = performance.now();
    expect(await takeIn(file, {}, pool)).toMatchObject({ problem: { code: "photo-too-many-pixels", values: { megapixels: 200 } } });
    expect(performance.now() - startedAt).toBeLessThan(100);
    expect(pool.busyPids).toEqual([]);
  });

  test("cut short anywhere: a code, never a crash", async () => {
    const file = writeHeic({ pixels: upright, primaries: 1, exif: await exifBlock(1) });
    for (const share of [0.02, 0.1, 0.5, 0.9]) {
      const cut = file.subarray(0, Math.floor(file.length * share));
      expect(await takeIn(cut, {}, pool), `cut at ${share}`).toMatchObject({ problem: { code: "photo-damaged" } });
    }
    expect((await takeIn(file, {}, pool)).ok).toBe(true);
  });

  test("any single spoilt byte of the boxes ends in an answer, and the reader always ends", async () => {
    const file = writeHeic({ pixels: upright, primaries: 1, turns: 1, exif: await exifBlock(1) });
    const end = file.indexOf("mdat");
    for (let at = 0; at < end; at += 1) {
      for (const value of [0x00, 0xff]) {
        const spoilt = Buffer.from(file);
        spoilt[at] = value;
        const header = readHeifHeader(spoilt);
        expect(header === null || header.upright.width > 0).toBe(true);
      }
    }
  });
});
