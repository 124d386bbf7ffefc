import * as exifr from "exifr";
import * as fc from "fast-check";
import sharp from "sharp";
import { describe, expect, test } from "vitest";
import { bareJpeg } from "@/lib/domain/photo/bare-jpeg";
import { coverBetween, coverPixels, evenWithin, hidesCard, isHidden, movedCover, sizedCover, SMALLEST_COVER, turnedCover, turnedPoint, unturnedCovers } from "@/lib/domain/photo/cover";
import { exifFacts } from "@/lib/domain/photo/exif-facts";
import { fitWithin, halvingSteps, sentSide } from "@/lib/domain/photo/fit";
import { sniff } from "@/lib/domain/photo/sniff";
import { readOnPhone, withPhoneFacts } from "@/lib/photos/on-phone";
import type { PreparedPhoto } from "@/lib/photos/prepared";
import { needlesIn } from "./needles";
import { registryPhoto } from "./sources";

/** Real photos of the registry packages that DEVELOPERS.md names. */
const PHOTOS = [
  "exif/test/down-mirrored.jpg", "exif/test/evil1.jpg", "exif/test/lens_info.jpg", "exif/test/right.jpg", "exif/test/short-ascii-II.jpg",
  "exif/test/short-ascii-MM.jpg", "exif/test/sony-alpha-6000.jpg", "exif/test/test1.jpg", "exif/test/test2.jpg", "exif/test/test3.jpg",
  "exif-parser/test/starfish.jpg", "exif-parser/test/test.jpg", "jpeg-exif/test/IMG_0001.JPG", "jpeg-exif/test/IMG_0003.JPG",
];

describe("the facts kept of a photo's metadata", () => {
  test.each(PHOTOS)("%s: as exifr 7.1 reads them", async (path) => {
    const bytes = registryPhoto(path);
    const wanted = ["Orientation", "DateTimeOriginal", "OffsetTimeOriginal", "OffsetTime"];
    const read = (await exifr.parse(bytes, { pick: wanted, reviveValues: false, translateValues: false }).catch(() => undefined)) ?? {};
    expect(exifFacts(bytes)).toEqual({
      orientation: read.Orientation ?? 1, takenAt: read.DateTimeOriginal ?? null, offset: read.OffsetTimeOriginal ?? read.OffsetTime ?? null,
    });
  });

  test("some of those photos have a time, and one an orientation of 6", () => {
    const facts = PHOTOS.map((path) => exifFacts(registryPhoto(path)));
    expect(facts.filter(({ takenAt }) => takenAt !== null).length).toBeGreaterThan(5);
    expect(exifFacts(registryPhoto("jpeg-exif/test/IMG_0001.JPG")).orientation).toBe(6);
  });

  test.each(["png", "webp", "avif"] as const)("a %s written by libvips says the same", async (format) => {
    const exif = { IFD0: { Orientation: "3" }, IFD2: { DateTimeOriginal: "2026:03:03 07:08:09", OffsetTimeOriginal: "+01:00" } };
    const bytes = await sharp({ create: { width: 64, height: 48, channels: 3, background: "#888" } }).withExif(exif).toFormat(format).toBuffer();
    expect(exifFacts(bytes)).toMatchObject({ takenAt: "2026:03:03 07:08:09", offset: "+01:00" });
  });

  test("whatever the bytes are, it ends without a fault", () => {
    const real = registryPhoto("jpeg-exif/test/IMG_0001.JPG").subarray(0, 4096);
    fc.assert(fc.property(fc.nat(4095), fc.uint8Array({ minLength: 1, maxLength: 64 }), (at, changed) => {
      const bytes = Uint8Array.from(real);
      bytes.set(changed.subarray(0, bytes.length - at), at);
      exifFacts(bytes);
      return exifFacts(bytes.subarray(0, at)).orientation >= 0;
    }), { numRuns: 500 });
  });
});

describe("a JPEG without metadata", () => {
  test.each(PHOTOS)("%s: the same pixels, and nothing else", async (path) => {
    const bytes = registryPhoto(path);
    const bare = Buffer.from(bareJpeg(Buffer.concat([bytes, Buffer.from("behind the end")])));
    for (const needle of await needlesIn(bytes)) expect(bare.includes(needle)).toBe(false);
    expect(bare.includes("behind the end")).toBe(false);
    expect(await exifr.parse(bare, true).catch(() => undefined)).toBeUndefined();
    const metadata = await sharp(bare).metadata();
    expect(metadata).toMatchObject({ format: "jpeg" });
    expect([metadata.exif, metadata.icc, metadata.iptc, metadata.xmp, metadata.comments]).toEqual([undefined, undefined, undefined, undefined, undefined]);
    const pixels = async (from: Buffer) => sharp(from, { failOn: "none", ignoreIcc: true }).raw().toBuffer();
    expect((await pixels(bare)).equals(await pixels(bytes))).toBe(true);
  });

  test("what is no JPEG, or has no end, is refused", () => {
    expect(() => bareJpeg(registryPhoto("fixture-images/still.PNG"))).toThrow(RangeError);
    expect(() => bareJpeg(registryPhoto("jpeg-exif/test/IMG_0001.JPG").subarray(0, 100_000))).toThrow(RangeError);
  });
});

describe("covers", () => {
  const share = fc.double({ min: -0.5, max: 1.5, noNaN: true });
  const cover = fc.tuple(share, share, share, share).map(([a, b, c, d]) => coverBetween({ x: a, y: b }, { x: c, y: d }) ?? { x: 0.1, y: 0.2, width: 0.3, height: 0.4 });
  const isInside = ({ x, y, width, height }: { x: number; y: number; width: number; height: number }) =>
    x >= 0 && y >= 0 && x + width <= 1 + 1e-9 && y + height <= 1 + 1e-9 && width >= SMALLEST_COVER - 1e-9 && height >= SMALLEST_COVER - 1e-9;

  test("drawn, moved and sized in any way, they stay in the picture and large enough to take hold of", () => {
    fc.assert(fc.property(cover, share, share, (from, x, y) => {
      expect(isInside(from)).toBe(true);
      expect(isInside(movedCover(from, { x, y }))).toBe(true);
      expect(isInside(sizedCover(from, { x, y }))).toBe(true);
    }));
  });

  test("four quarter turns lead back, and a cover turns with its points", () => {
    fc.assert(fc.property(cover, (from) => {
      const around = turnedCover(turnedCover(turnedCover(turnedCover(from))));
      expect(around.x).toBeCloseTo(from.x, 9);
      expect(around.height).toBeCloseTo(from.height, 9);
      const [turned, corner] = [turnedCover(from), turnedPoint({ x: from.x, y: from.y + from.height })];
      expect([turned.x, turned.y]).toEqual([expect.closeTo(corner.x, 9), expect.closeTo(corner.y, 9)]);
    }));
  });

  test("its pixels are whole ones, outward", () => {
    expect(coverPixels({ x: 0.101, y: 0.1, width: 0.3, height: 0.3 }, { width: 100, height: 50 })).toEqual({ x: 10, y: 5, width: 31, height: 15 });
  });

  test("turned back by hand, they lie where they lay in the picture as it came", () => {
    fc.assert(fc.property(cover, fc.constantFrom(0, 1, 2, 3), (from, turns) => {
      const turned = Array.from({ length: turns }).reduce<typeof from>(turnedCover, from);
      const [back] = unturnedCovers([turned], turns);
      for (const side of ["x", "y", "width", "height"] as const) expect(back?.[side]).toBeCloseTo(from[side], 9);
    }));
  });

  test("a frame shows a cover only where all of it is covered", () => {
    const size = { width: 64, height: 48 };
    const at = { x: 0.25, y: 0.25, width: 0.5, height: 0.5 };
    const frame = (of: (x: number, y: number) => number) => Uint8ClampedArray.from({ length: 64 * 48 * 4 }, (_, index) => of(Math.floor(index / 4) % 64, Math.floor(index / 256)));
    const isThere = (x: number, y: number) => x >= 16 && x < 48 && y >= 12 && y < 36;
    expect(isHidden(at, size, frame((x, y) => (isThere(x, y) ? 130 : 250)))).toBe(true);
    expect(isHidden(at, size, frame(() => 250))).toBe(false);
    // Moved by a quarter of the picture, as by a turn that two readers take differently.
    expect(isHidden(at, size, frame((x, y) => (isThere(x - 16, y) ? 130 : 250)))).toBe(false);
    // One pixel in its middle.
    expect(isHidden(at, size, frame((x, y) => (isThere(x, y) && !(x === 32 && y === 24) ? 130 : 250)))).toBe(false);
    const thin = { x: 0.5, y: 0.5, width: SMALLEST_COVER, height: SMALLEST_COVER };
    expect(isHidden(thin, size, frame(() => 250))).toBe(false);
  });

  test("a film's sides are even and of the same shape", () => {
    expect(evenWithin({ width: 1080, height: 1920 }, 1920)).toEqual({ width: 1080, height: 1920 });
    expect(evenWithin({ width: 2160, height: 3840 }, 1920)).toEqual({ width: 1080, height: 1920 });
    expect(evenWithin({ width: 481, height: 271 }, 1920)).toEqual({ width: 482, height: 272 });
  });

  test("too small to be meant is no cover", () => {
    expect(coverBetween({ x: 0.5, y: 0.5 }, { x: 0.51, y: 0.9 })).toBeNull();
  });

  test("a cover over a part of the side card is noticed, one beside it is not", () => {
    const corners = [{ x: 0.5, y: 0.5 }, { x: 0.6, y: 0.5 }, { x: 0.6, y: 0.7 }, { x: 0.5, y: 0.7 }] as const;
    expect(hidesCard([{ x: 0.55, y: 0.4, width: 0.2, height: 0.2 }], corners)).toBe(true);
    expect(hidesCard([{ x: 0.61, y: 0.4, width: 0.2, height: 0.2 }], corners)).toBe(true);
    expect(hidesCard([{ x: 0.63, y: 0.4, width: 0.2, height: 0.2 }], corners)).toBe(false);
  });
});

describe("sizes on the way down", () => {
  test("24 megapixels go by halves to the size sent, a small photo stays", () => {
    const from = { width: 6000, height: 4000 };
    expect(fitWithin(from, 2048)).toEqual({ width: 2048, height: 1365 });
    expect(halvingSteps(from, { width: 2048, height: 1365 })).toEqual([{ width: 3000, height: 2000 }, { width: 2048, height: 1365 }]);
    expect(fitWithin({ width: 640, height: 480 }, 2048)).toEqual({ width: 640, height: 480 });
    expect(halvingSteps({ width: 640, height: 480 }, { width: 640, height: 480 })).toEqual([{ width: 640, height: 480 }]);
    expect(halvingSteps({ width: 4096, height: 2048 }, { width: 2048, height: 1024 })).toEqual([{ width: 2048, height: 1024 }]);
  });

  test("a card of under three pixels a module at 2048 is sent larger, any other photo is not", () => {
    const card = (modulePixels: number) => ({
      found: "one" as const,
      reading: { number: "", mirrored: false, corners: [{ x: 0, y: 0 }, { x: 1, y: 0 }, { x: 1, y: 1 }, { x: 0, y: 1 }] as const, turnToUpright: 0 as const, levelDegrees: null, modulePixels },
    });
    expect([sentSide(null, 2048), sentSide({ found: "several" }, 2048), sentSide(card(3), 2048), sentSide(card(2.9), 2048)]).toEqual([2048, 2048, 2048, 4096]);
    expect([sentSide(card(6.1), 4096), sentSide(card(5.9), 4096), sentSide(card(2), 1500)]).toEqual([2048, 4096, 4096]);
  });
});

describe("what a phone says of a photo that it made ready", () => {
  const said = { originalBytes: 4_200_000, taken: "2026:03:03 07:08:09", offset: "+01:00", isMirrored: true, isCovered: false };
  // Only the two facts that the phone may add to are looked at.
  const photo = { mirroredFlag: false, takenAt: null } as PreparedPhoto;

  test("its time and its mirroring stand in for the file's own, and never over them", () => {
    const read = readOnPhone(JSON.stringify(said));
    expect(read).toEqual(said);
    expect(withPhoneFacts(photo, read ?? null)).toMatchObject({ mirroredFlag: true, takenAt: { at: Date.UTC(2026, 2, 3, 6, 8, 9), zoneKnown: true } });
    const own = { at: 5, zoneKnown: true };
    expect(withPhoneFacts({ ...photo, takenAt: own }, read ?? null).takenAt).toEqual(own);
    expect(withPhoneFacts(photo, null)).toBe(photo);
  });

  test("a time that is none is no time", () => {
    expect(withPhoneFacts(photo, { ...said, taken: "2026:02:31 07:08:09" }).takenAt).toBeNull();
    expect(withPhoneFacts(photo, { ...said, taken: null }).takenAt).toBeNull();
  });

  test("a photo without such words is as it was; other words are refused", () => {
    expect(readOnPhone(null)).toBeNull();
    for (const other of ["", "{}", "null", JSON.stringify({ ...said, taken: "yesterday" }), JSON.stringify({ ...said, more: 1 }), JSON.stringify({ ...said, originalBytes: 0 })]) {
      expect(readOnPhone(other), other).toBeUndefined();
    }
  });
});

test("a moving AVIF is told apart from a still one", () => {
  const opening = (brand: string) => Buffer.concat([Buffer.from([0, 0, 0, 16]), Buffer.from(`ftyp${brand}\0\0\0\0`, "latin1")]);
  expect(sniff(opening("avif"))).toEqual({ accepted: false, kind: "avif" });
  expect(sniff(opening("avis"))).toEqual({ accepted: false, kind: "animation" });
});
