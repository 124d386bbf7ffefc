import { createRequire } from "node:module";

// Required, because loaders differ in what they see of a package that is CommonJS and ES module at once.
const { parse } = createRequire(import.meta.url)("exifr") as typeof import("exifr");

/** Every block the independent reader knows, as written. */
export const EVERYTHING = { tiff: true, xmp: true, iptc: true, icc: true, jfif: false, makerNote: true, userComment: true, gps: true };

/** Maker, model, serial numbers, lens, dates, names as they stand in a JPEG's metadata, and its whole GPS directory. */
export async function needlesIn(input: Buffer): Promise<readonly Buffer[]> {
  const found = (await parse(input, { ...EVERYTHING, reviveValues: false })) as Readonly<Record<string, unknown>> | undefined; // a reader of anything
  const named = /make|model|serial|date|artist|copyright|software|owner|creator|id$/i;
  const words = Object.entries(found ?? {}).flatMap(([name, value]) =>
    named.test(name) && typeof value === "string" && value.length > 3 ? [Buffer.from(value, "latin1")] : [],
  );
  const gps = gpsDirectory(input);
  return [...words.filter((word) => input.includes(word)), ...(gps ? [gps] : [])];
}

/** The bytes of the GPS directory, found by its pointer (tag 0x8825) in the first TIFF block. */
function gpsDirectory(input: Buffer): Buffer | null {
  const tiff = input.indexOf("Exif\0\0") + 6;
  if (tiff < 6) return null;
  const isLittle = input.toString("latin1", tiff, tiff + 2) === "II";
  const u16 = (at: number) => (isLittle ? input.readUInt16LE(at) : input.readUInt16BE(at));
  const u32 = (at: number) => (isLittle ? input.readUInt32LE(at) : input.readUInt32BE(at));
  const first = tiff + u32(tiff + 4);
  for (let entry = 0; entry < u16(first); entry += 1) {
    const at = first + 2 + entry * 12;
    if (u16(at) !== 0x8825) continue;
    const start = tiff + u32(at + 8);
    return input.subarray(start, start + 2 + u16(start) * 12);
  }
  return null;
}
