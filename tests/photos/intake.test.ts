import { createHash, randomBytes } from "node:crypto";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { deflateSync } from "node:zlib";
import * as exifr from "exifr";
import sharp from "sharp";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import type { Result } from "@/lib/domain/result";
import { openFolderStore } from "@/lib/media/folder-store";
import { DecoderPool } from "@/lib/photos/decoder-pool";
import { flatten } from "@/lib/photos/flatten";
import { takeIn, turnPrepared } from "@/lib/photos/intake";
import type { PreparedPhoto } from "@/lib/photos/prepared";
import { parseTakenAt } from "@/lib/domain/photo/taken-at";
import { EVERYTHING, needlesIn } from "./needles";
import { asStored, meanDifference, pixelAt, pixelsOf, type Pixels } from "./pixels";
import { flatPng, noiseJpeg, photo24Mp, photoTurned6, photoWithGps, pngChunk, registryPhoto } from "./sources";

const pool = new DecoderPool("photos");
const marks = new DecoderPool("marks");
const take = (bytes: Uint8Array) => takeIn(bytes, {}, pool);

beforeAll(() => pool.warm());
afterAll(() => Promise.all([pool.close(), marks.close()]));

async function taken(bytes: Uint8Array): Promise<PreparedPhoto> {
  const result = await take(bytes);
  if (!result.ok) throw new Error(result.problem.code);
  return result.value;
}

const codeOf = (result: Result<unknown>) => (result.ok ? "taken in" : result.problem.code);
const largest = (photo: PreparedPhoto) => photo.sizes[0].bytes;
const sha256 = (bytes: Uint8Array) => createHash("sha256").update(bytes).digest("hex");

async function* inChunks(bytes: Buffer, size = 64 * 1024) {
  for (let at = 0; at < bytes.length; at += size) yield bytes.subarray(at, at + size);
}

describe("sizes", () => {
  test("a 24-megapixel photo gives 2048, 1024 and 320 on the longest side, and a placeholder", async () => {
    const photo = await taken(photo24Mp());
    expect([photo.kind, photo.width, photo.height]).toEqual(["jpeg", 6000, 4000]);
    expect(photo.sizes.map(({ width, height }) => [width, height])).toEqual([[2048, 1365], [1024, 683], [320, 213]]);
    expect([photo.placeholder.width, photo.placeholder.height]).toEqual([32, 21]);
    expect(photo.placeholder.bytes.length).toBeLessThan(1000);
    for (const { bytes, width, height } of photo.sizes) {
      const metadata = await sharp(bytes).metadata();
      expect(metadata).toMatchObject({ format: "jpeg", width, height, space: "srgb", channels: 3, hasProfile: false });
    }
    expect(photo.measures.sharpness).toBeGreaterThan(0);
    expect(photo.measures.hash).toMatch(/^[0-9a-f]{16}$/);
  });

  test("a small photo is never enlarged", async () => {
    const photo = await taken(registryPhoto("exif/test/evil1.jpg"));
    expect(photo.sizes.map(({ width, height }) => [width, height])).toEqual([[640, 480], [640, 480], [320, 240]]);
  });

  test("transparent parts come out white, grey photos in three channels", async () => {
    const clear = await sharp({ create: { width: 300, height: 300, channels: 4, background: { r: 9, g: 9, b: 9, alpha: 0 } } }).png().toBuffer();
    expect(pixelAt(await pixelsOf(largest(await taken(clear))), 150, 150)).toEqual([255, 255, 255]);
    const grey = await sharp(photoWithGps()).resize(400).toColourspace("b-w").jpeg().toBuffer();
    expect((await sharp(grey).metadata()).channels).toBe(1);
    expect((await sharp(largest(await taken(grey))).metadata()).channels).toBe(3);
  });
});

describe("nothing of the metadata survives", () => {
  const photos = [
    "exif/test/sony-alpha-6000.jpg",
    "exif/test/short-ascii-II.jpg",
    "exif/test/short-ascii-MM.jpg",
    "jpeg-exif/test/IMG_0001.JPG",
    "exif-js/example/Bush-dog.jpg",
    "exif-js/example/Bloated-Hero.jpg",
    "exif-js/example/dsc_09827.jpg",
    "exif-js/example/DSCN0614_small.jpg",
    "exif-parser/test/starfish.jpg",
  ];
  let folder: string;

  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), "intake-"));
  });
  afterAll(() => rm(folder, { recursive: true }));

  test.each(photos)("%s", async (path) => {
    const input = registryPhoto(path);
    const found = await exifr.parse(input, { ...EVERYTHING, reviveValues: false });
    expect(Object.keys(found ?? {}).length, "the reader finds metadata in the input").toBeGreaterThan(0);

    const needles = await needlesIn(input);
    const photo = await taken(input);
    const store = openFolderStore(folder, { current: randomBytes(32) });
    for (const picture of [...photo.sizes, photo.placeholder]) {
      const { fileId } = await store.put(picture.bytes);
      const kept = await store.read(fileId);
      expect(await exifr.parse(kept, EVERYTHING)).toBeUndefined();
      for (const needle of needles) {
        expect(input.includes(needle), "the search finds it in the input").toBe(true);
        expect(kept.includes(needle), needle.toString("latin1")).toBe(false);
      }
    }
  });

  test("the search above has something to look for: maker, model, date and a GPS block", async () => {
    const needles = await needlesIn(photoTurned6());
    const words = needles.map((needle) => needle.toString("latin1"));
    expect(words).toEqual(expect.arrayContaining(["Apple", "iPhone 6 Plus", "2016:03:24 14:49:51", "2016:03:24"]));
    expect(needles.some((needle) => needle.length > 60 && needle[0] === 0)).toBe(true);
  });

  test("trailing bytes and comments do not survive: a JPEG that is also a ZIP and a web page", async () => {
    const script = Buffer.from("<script>alert(1)</script>");
    const comment = Buffer.concat([Buffer.from([0xff, 0xfe, 0, script.length + 2]), script]);
    const photo = registryPhoto("exif/test/evil1.jpg");
    const both = Buffer.concat([photo.subarray(0, 2), comment, photo.subarray(2), Buffer.from("PK\x03\x04../../evil.sh")]);
    const result = await taken(both);
    for (const { bytes } of result.sizes) {
      expect(bytes.includes("<script>") || bytes.includes("PK\x03\x04") || bytes.includes("evil.sh")).toBe(false);
      expect(bytes.subarray(-2).toString("hex"), "ends where the picture ends").toBe("ffd9");
    }
  });
});

describe("upright", () => {
  let upright: Pixels;
  beforeAll(async () => {
    upright = await pixelsOf(await sharp(photo24Mp()).resize(480, 320).png().toBuffer());
  });

  const asPng = ({ data, width, height }: Pixels) => sharp(data, { raw: { width, height, channels: 3 } });
  const cases = [1, 2, 3, 4, 5, 6, 7, 8].flatMap((orientation) => (["jpeg", "png", "webp"] as const).map((kind) => ({ orientation, kind })));

  test.each(cases)("orientation $orientation in a $kind, turned once", async ({ orientation, kind }) => {
    const stored = asPng(asStored(upright, orientation)).withMetadata({ orientation });
    const file = await { jpeg: stored.jpeg({ quality: 95 }), png: stored.png(), webp: stored.webp({ quality: 95 }) }[kind].toBuffer();
    if (orientation > 1) expect(meanDifference(await pixelsOf(file), upright), "the check can fail").toBeGreaterThan(15);
    const photo = await taken(file);
    expect([photo.width, photo.height]).toEqual([480, 320]);
    expect(meanDifference(await pixelsOf(largest(photo)), upright)).toBeLessThan(6);
    expect(photo.mirroredFlag).toBe([2, 4, 5, 7].includes(orientation));
  });

  test.each([0, 9, 100])("orientation %i is no orientation: left as it is", async (orientation) => {
    const file = await asPng(upright).withMetadata({ orientation: 6 }).jpeg({ quality: 95 }).toBuffer();
    // Tag 0x0112, type SHORT, count 1, value 6, in either byte order.
    const entry = [Buffer.from("011200030000000100060000", "hex"), Buffer.from("120103000100000006000000", "hex")];
    const place = Math.max(...entry.map((bytes) => file.indexOf(bytes)));
    expect(place).toBeGreaterThan(0);
    const at = place + 8;
    if (file[at] === 6) file[at] = orientation;
    else file[at + 1] = orientation;
    const photo = await taken(file);
    expect(meanDifference(await pixelsOf(largest(photo)), upright)).toBeLessThan(6);
    expect(photo.mirroredFlag).toBe(false);
  });

  test("real phone photos: 6, 8 and the mirrored 4", async () => {
    expect(await taken(registryPhoto("exif/test/right.jpg"))).toMatchObject({ width: 480, height: 640, mirroredFlag: false });
    expect(await taken(registryPhoto("exif/test/down-mirrored.jpg"))).toMatchObject({ width: 480, height: 640, mirroredFlag: true });
    const turned = await taken(photoTurned6());
    const stored = await sharp(photoTurned6()).resize(1024, 1024).rotate(90).toBuffer();
    expect(meanDifference(await pixelsOf(turned.sizes[1].bytes), await pixelsOf(stored))).toBeLessThan(6);
  });

  test.each([1, 2, 3] as const)("turned by hand %i quarter turns clockwise, in every size", async (quarterTurns) => {
    const photo = await taken(await asPng(upright).png().toBuffer());
    const turned = await turnPrepared(largest(photo), { quarterTurns, flopped: false }, pool);
    if (!turned.ok) throw new Error(turned.problem.code);
    for (const [index, { bytes }] of turned.value.sizes.entries()) {
      const before = await sharp(photo.sizes[index]?.bytes).rotate(quarterTurns * 90).toBuffer();
      expect(meanDifference(await pixelsOf(bytes), await pixelsOf(before))).toBeLessThan(6);
    }
    expect(turned.value.measures.hash).not.toBe(photo.measures.hash);
  });
});

describe("colour", () => {
  // Display P3 numbers of the sRGB colour (200, 60, 40), by the matrices of CSS Color 4, section 17: (186, 73, 52).
  const SRGB = [200, 60, 40] as const;
  const flat = () => sharp({ create: { width: 300, height: 300, channels: 3, background: { r: 200, g: 60, b: 40 } } });

  const files: readonly (readonly [string, () => Promise<Buffer>])[] = [
    ["JPEG", () => flat().withIccProfile("p3").jpeg({ quality: 100, chromaSubsampling: "4:4:4" }).toBuffer()],
    ["PNG", () => flat().withIccProfile("p3").png().toBuffer()],
    ["WebP", () => flat().withIccProfile("p3").webp({ lossless: true }).toBuffer()],
    ["PNG of 16 bits", () => flat().toColourspace("rgb16").withIccProfile("p3").png().toBuffer()],
  ];
  test.each(files)("a Display P3 %s comes out sRGB", async (_kind, make) => {
    const file = await make();
    const metadata = await sharp(file).metadata();
    expect(metadata.hasProfile).toBe(true);
    const numbers = pixelAt(await pixelsOf(file, true), 150, 150);
    if (metadata.depth === "uchar") expectNear(numbers, [186, 73, 52], 3);
    expectNear(pixelAt(await pixelsOf(largest(await taken(file))), 150, 150), SRGB, 3);
  });

  test("a 16-bit PNG without a profile keeps its numbers", async () => {
    const file = await flat().toColourspace("rgb16").png().toBuffer();
    expect((await sharp(file).metadata()).depth).toBe("ushort");
    expectNear(pixelAt(await pixelsOf(largest(await taken(file))), 150, 150), SRGB, 3);
  });
});

function expectNear(actual: readonly number[], expected: readonly number[], tolerance: number): void {
  expected.forEach((value, index) => {
    expect(Math.abs((actual[index] ?? Number.NaN) - value), `${actual.join()} near ${expected.join()}`).toBeLessThanOrEqual(tolerance);
  });
}

describe("bytes on the way", () => {
  let big: Buffer;
  beforeAll(async () => {
    big = await noiseJpeg(1900, 1900);
  });
  /** Random bytes after the picture's end, as phones append their short films. */
  const padded = (length: number) => Buffer.concat([big, randomBytes(length - big.length)]);

  test.each([11_000_000, 24_000_000, 25_000_000])("%i bytes arrive whole: length and SHA-256", async (length) => {
    expect(big.length).toBeGreaterThan(7_000_000);
    const sent = padded(length);
    const result = await takeIn(inChunks(sent), { length, sha256: sha256(sent) }, pool);
    if (!result.ok) throw new Error(result.problem.code);
    expect(result.value).toMatchObject({ receivedBytes: length, sha256: sha256(sent), width: 1900, height: 1900 });
  });

  test("one byte over 25 MB is read to its end and refused", async () => {
    let read = 0;
    const sent = padded(25_000_001);
    async function* counted() {
      for await (const chunk of inChunks(sent)) {
        read += chunk.length;
        yield chunk;
      }
    }
    expect(codeOf(await takeIn(counted(), {}, pool))).toBe("photo-too-large");
    expect(read).toBe(25_000_001);
  });

  test("a body without end is cut at 26 MB, and its stream is told", async () => {
    let read = 0;
    let isTold = false;
    async function* endless() {
      try {
        for (;;) {
          read += 65_536;
          yield Buffer.alloc(65_536, 0xff);
        }
      } finally {
        isTold = true;
      }
    }
    expect(codeOf(await takeIn(endless(), {}, pool))).toBe("photo-too-large");
    expect(read).toBeLessThanOrEqual(26_000_000 + 65_536);
    expect(isTold).toBe(true);
  });

  test("what was declared and what came must agree", async () => {
    const sent = photoWithGps();
    expect(codeOf(await takeIn(sent, { length: sent.length + 1 }, pool))).toBe("photo-length-mismatch");
    expect(codeOf(await takeIn(sent, { sha256: sha256(Buffer.from("other")) }, pool))).toBe("photo-hash-mismatch");
    expect(codeOf(await takeIn(sent, { length: 26_000_001 }, pool))).toBe("photo-too-large");
    expect(codeOf(await takeIn(sent, { length: sent.length, sha256: sha256(sent).toUpperCase() }, pool))).toBe("taken in");
    expect(codeOf(await take(Buffer.alloc(0)))).toBe("photo-empty");
  });

  test("a connection that breaks is the caller's to hear", async () => {
    async function* broken() {
      yield Buffer.alloc(10);
      throw new Error("connection lost");
    }
    await expect(takeIn(broken(), {}, pool)).rejects.toThrow("connection lost");
  });
});

describe("what is refused", () => {
  const svg = '<svg xmlns="http://www.w3.org/2000/svg" width="400" height="400" onload="alert(1)"><rect width="400" height="400"/></svg>';
  const box = (type: string, brand: string) => Buffer.concat([Buffer.from([0, 0, 0, 24]), Buffer.from(`${type}${brand}\0\0\0\0${brand}mif1`)]);
  const kinds: readonly (readonly [string, string, Buffer])[] = [
    ["svg", "SVG", Buffer.from(svg)],
    ["svg", "SVG behind an XML line, a comment and a byte order mark", Buffer.from(`\uFEFF  <?xml version="1.0"?><!-- a --> ${svg}`)],
    ["gif", "GIF", Buffer.from("GIF89a\x01\0\x01\0")],
    ["avif", "AVIF", box("ftyp", "avif")],
    ["video", "MP4", box("ftyp", "isom")],
    ["video", "MOV", box("ftyp", "qt  ")],
    ["audio", "M4A", box("ftyp", "M4A ")],
    ["animation", "HEIC sequence", box("ftyp", "hevc")],
    ["tiff", "TIFF", Buffer.from("II*\0\x08\0\0\0")],
    ["pdf", "PDF", Buffer.from("%PDF-1.7\n")],
    ["zip", "ZIP", Buffer.from("PK\x03\x04....")],
    ["html", "web page", Buffer.from("<!DOCTYPE html><script>alert(1)</script>")],
    ["audio", "Ogg", Buffer.from("OggS\0\0")],
    ["video", "WebM", Buffer.from("1a45dfa3", "hex")],
    ["bmp", "BMP", Buffer.from("BM\0\0\0\0")],
    ["unknown", "text", Buffer.from('{"photo": true}')],
    ["unknown", "one byte", Buffer.from([0xff])],
    ["animation", "animated PNG of a registry package", registryPhoto("fixture-images/animated.PNG")],
    ["animation", "animated WebP of a registry package", registryPhoto("fixture-images/animated.WEBP")],
  ];
  test.each(kinds)("%s: %s", async (kind, _what, bytes) => {
    const result = await take(bytes);
    expect(result).toEqual({ ok: false, problem: { code: "photo-kind-refused", values: { kind } } });
  });

  test("an SVG handed straight to the decoder as if it were a PNG is not drawn", async () => {
    const request = { header: { operation: "prepare", kind: "png", primaries: null }, parts: [Buffer.from(svg), Buffer.alloc(0), Buffer.alloc(0)] };
    expect(await pool.run(request)).toMatchObject({ ok: true, value: { header: { ok: false, fault: "damaged" } } });
    // The same bytes are drawn where our own marks are, so the check above can fail.
    const jpeg = await sharp({ create: { width: 400, height: 400, channels: 3, background: "#fff" } }).jpeg().toBuffer();
    expect((await marks.run({ header: { operation: "flatten" }, parts: [jpeg, Buffer.from(svg)] })).ok).toBe(true);
  });

  test("damaged: cut short, a spoilt header, a JPEG without a frame", async () => {
    const photo = photoWithGps();
    expect(codeOf(await take(photo.subarray(0, photo.length / 2)))).toBe("photo-damaged");
    expect(codeOf(await take(photo.subarray(0, 1000)))).toBe("photo-damaged");
    expect(codeOf(await take(Buffer.from("ffd8ffd9", "hex")))).toBe("photo-damaged");
    const png = await sharp(photo).resize(400).png().toBuffer();
    expect(codeOf(await take(png.subarray(0, png.length - 2000)))).toBe("photo-damaged");
    const webp = await sharp(photo).resize(400).webp().toBuffer();
    expect(codeOf(await take(webp.subarray(0, webp.length - 2000)))).toBe("photo-damaged");
    expect(codeOf(await take(box("ftyp", "heic")))).toBe("photo-damaged");
  });

  test("any bytes behind any signature end in a code, never in a crash", async () => {
    const openings = ["ffd8ffe0", "89504e470d0a1a0a0000000d49484452", "52494646ffffffff5745425056503858", "00000018667479706865696300000000"];
    for (const opening of openings) {
      for (let round = 0; round < 5; round += 1) {
        const result = await take(Buffer.concat([Buffer.from(opening, "hex"), randomBytes(5000)]));
        expect(result.ok).toBe(false);
      }
    }
  });

  const sized: readonly (readonly [string, string, () => Buffer])[] = [
    ["photo-too-many-pixels", "400 megapixels of nothing", () => flatPng(20_000, 20_000)],
    ["photo-too-many-pixels", "256 megapixels, under the library's own limit", () => flatPng(16_000, 16_000)],
    ["photo-too-many-pixels", "a hair over 60 megapixels", () => flatPng(10_000, 6_001)],
    ["photo-side-too-long", "30,000 by 1", () => flatPng(30_000, 1)],
    ["photo-side-too-long", "12,001 by 200", () => flatPng(12_001, 200)],
    ["photo-too-small", "199 by 4,000", () => flatPng(199, 4000)],
  ];
  test.each(sized)("%s: %s, by its header alone", async (code, _what, make) => {
    const bytes = make();
    const startedAt = performance.now();
    expect(codeOf(await take(bytes))).toBe(code);
    expect(performance.now() - startedAt).toBeLessThan(1000);
    expect(pool.busyPids).toEqual([]);
  });

  test("at the limits themselves: 12,000 by 5,000 and 200 by 200 are taken in", async () => {
    expect(codeOf(await take(flatPng(12_000, 5000)))).toBe("taken in");
    expect(codeOf(await take(flatPng(200, 200)))).toBe("taken in");
  });

  test("a text chunk that unpacks to 100 MB harms nothing", async () => {
    const text = Buffer.concat([Buffer.from("Comment\0\0"), deflateSync(Buffer.alloc(100_000_000, 65))]);
    const result = await take(flatPng(400, 400, [pngChunk("zTXt", text)]));
    if (result.ok) expect(largest(result.value).includes("AAAA")).toBe(false);
    else expect(result.problem.code).toBe("photo-damaged");
    expect(codeOf(await take(flatPng(400, 400)))).toBe("taken in");
  });
});

describe("the decoder's bounds", () => {
  const limits = { size: 2, waiting: 20, timeLimitMs: 20_000, memoryLimitMb: 1200, replaceAboveMb: 500 };

  async function busyPid(of: DecoderPool): Promise<number> {
    for (;;) {
      const [pid] = of.busyPids;
      if (pid !== undefined) return pid;
      await new Promise((resolve) => setTimeout(resolve, 1));
    }
  }

  test("killed in the middle: that one photo is refused, its neighbour and the next one are fine", async () => {
    const bounded = new DecoderPool("photos", limits);
    await bounded.warm();
    const photo = photo24Mp();
    const first = takeIn(photo, {}, bounded);
    const victim = await busyPid(bounded);
    const second = takeIn(photo, {}, bounded);
    process.kill(victim, "SIGKILL");
    expect(codeOf(await first)).toBe("photo-decoder-stopped");
    expect(codeOf(await second)).toBe("taken in");
    expect(codeOf(await takeIn(photo, {}, bounded))).toBe("taken in");
    await bounded.close();
  });

  test("full: so many at once, so many waiting, then refused with a time to try again", async () => {
    const bounded = new DecoderPool("photos", { ...limits, size: 1, waiting: 2 });
    const photo = await sharp(photo24Mp()).resize(800).jpeg().toBuffer();
    const results = await Promise.all([1, 2, 3, 4, 5].map(() => takeIn(photo, {}, bounded)));
    expect(results.map(codeOf).sort()).toEqual(["photo-queue-full", "photo-queue-full", "taken in", "taken in", "taken in"]);
    const full = results.find((result) => !result.ok);
    expect(full).toMatchObject({ problem: { values: { seconds: expect.any(Number) } } });
    expect(codeOf(await takeIn(photo, {}, bounded))).toBe("taken in");
    await bounded.close();
  });

  test("past its memory it ends itself, past its time it is ended; the next photo is fine", async () => {
    // A progressive JPEG must be held whole: some 300 MB for 54 megapixels.
    const heavy = await sharp({ create: { width: 9000, height: 6000, channels: 3, background: "#888" } }).jpeg({ progressive: true }).toBuffer();
    const small = new DecoderPool("photos", { ...limits, memoryLimitMb: 200 });
    expect(codeOf(await takeIn(heavy, {}, small))).toBe("photo-decoder-stopped");
    expect(codeOf(await takeIn(registryPhoto("exif/test/evil1.jpg"), {}, small))).toBe("taken in");
    await small.close();
    const hasty = new DecoderPool("photos", { ...limits, timeLimitMs: 100 });
    expect(codeOf(await takeIn(heavy, {}, hasty))).toBe("photo-decoder-stopped");
    await hasty.close();
    expect(codeOf(await take(heavy))).toBe("taken in");
  });

  test("closed: nothing starts any more and no process stays", async () => {
    const closing = new DecoderPool("photos", limits);
    const inHand = takeIn(photo24Mp(), {}, closing);
    const pid = await busyPid(closing);
    await closing.close();
    expect(codeOf(await inHand)).toBe("photo-decoder-stopped");
    expect(() => process.kill(pid, 0)).toThrow("ESRCH");
    expect(codeOf(await takeIn(photo24Mp(), {}, closing))).toBe("photo-queue-full");
  });
});

describe("marks drawn over a kept picture", () => {
  const ring = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1000 1000" preserveAspectRatio="none"><rect x="400" y="600" width="200" height="200" fill="#f00"/></svg>';

  test("lie where they were put, and carry nothing along", async () => {
    const photo = await taken(await sharp({ create: { width: 800, height: 400, channels: 3, background: "#0a0" } }).png().toBuffer());
    const flat = await flatten(largest(photo), ring, marks);
    if (!flat.ok) throw new Error(flat.problem.code);
    const pixels = await pixelsOf(flat.value);
    expect([pixels.width, pixels.height]).toEqual([800, 400]);
    expectNear(pixelAt(pixels, 400, 280), [255, 0, 0], 6);
    expectNear(pixelAt(pixels, 400, 200), [0, 170, 0], 6);
    expect(await exifr.parse(flat.value, { tiff: true, xmp: true, icc: true })).toBeUndefined();
  });

  test.each([
    '<svg xmlns="http://www.w3.org/2000/svg"><image href="file:///etc/passwd"/></svg>',
    '<svg xmlns:xlink="http://www.w3.org/1999/xlink"><use xlink:href="#a"/></svg>',
    '<!DOCTYPE svg [<!ENTITY a "b">]><svg/>',
    '<svg><rect fill="url(http://example.org/a)"/></svg>',
    '<svg><style>@import "a"</style></svg>',
  ])("a drawing that reaches outside itself is a bug, not a picture: %s", async (drawing) => {
    const jpeg = registryPhoto("exif/test/evil1.jpg");
    await expect(flatten(jpeg, drawing, marks)).rejects.toThrow("not a drawing of ours");
  });
});

describe("when it was taken", () => {
  test("wall clock alone is kept as such; with its offset it is an instant", () => {
    expect(parseTakenAt("2016:03:24 14:49:51", undefined)).toEqual({ at: Date.UTC(2016, 2, 24, 14, 49, 51), zoneKnown: false });
    expect(parseTakenAt("2026:01:07 15:20:14", "+01:00")).toEqual({ at: Date.UTC(2026, 0, 7, 14, 20, 14), zoneKnown: true });
    expect(parseTakenAt("2026:01:07 15:20:14", "-03:30")).toEqual({ at: Date.UTC(2026, 0, 7, 18, 50, 14), zoneKnown: true });
  });

  test.each([undefined, "", "0000:00:00 00:00:00", "2026:13:01 00:00:00", "2026:02:30 10:00:00", "2026:01:01 24:10:00", "1970:01:01 00:00:00", "yesterday"])(
    "%s is no moment",
    (date) => expect(parseTakenAt(date, "+01:00")).toBeNull(),
  );

  test("read from a real phone photo, and absent where the camera wrote none", async () => {
    expect((await taken(photoTurned6())).takenAt).toEqual({ at: Date.UTC(2016, 2, 24, 14, 49, 51), zoneKnown: false });
    expect((await taken(registryPhoto("exif/test/right.jpg"))).takenAt).toBeNull();
  });
});
