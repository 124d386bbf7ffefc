/** What is kept of a photo's metadata before it goes. Texts as they stand in the file. */
export type ExifFacts = { readonly orientation: number; readonly takenAt: string | null; readonly offset: string | null };

const ORIENTATION = 0x0112;
const EXIF_FOLDER = 0x8769;
const DATE_TIME_ORIGINAL = 0x9003;
const OFFSET_TIME = 0x9010;
const OFFSET_TIME_ORIGINAL = 0x9011;
/** A folder of a real photo holds some dozens of entries; more is a broken or a hostile file. */
const MOST_ENTRIES = 512;
const NONE: ExifFacts = { orientation: 1, takenAt: null, offset: null };

/**
 * The three facts out of a photo's EXIF block (CIPA DC-008), whatever file it stands in; nothing else in
 * it is read. Metadata that makes no sense is the same as none: it was going to be thrown away.
 */
export function exifFacts(bytes: Uint8Array): ExifFacts {
  try {
    const block = tiffBlock(bytes);
    return block ? readTiff(block) : NONE;
  } catch (error) {
    // Reads past the end: the block is shorter than its own offsets say.
    if (error instanceof RangeError) return NONE;
    throw error;
  }
}

function readTiff(block: Uint8Array): ExifFacts {
  const view = new DataView(block.buffer, block.byteOffset, block.length);
  const isLittle = view.getUint16(0) === 0x4949;
  const folder = (at: number): ReadonlyMap<number, number> => {
    const count = Math.min(view.getUint16(at, isLittle), MOST_ENTRIES);
    return new Map(Array.from({ length: count }, (_, index) => at + 2 + index * 12).map((entry) => [view.getUint16(entry, isLittle), entry]));
  };
  const text = (entry: number | undefined): string | null => {
    if (entry === undefined || view.getUint16(entry + 2, isLittle) !== 2) return null;
    const length = view.getUint32(entry + 4, isLittle);
    const from = length <= 4 ? entry + 8 : view.getUint32(entry + 8, isLittle);
    return latin(block, from, Math.min(from + length, from + 40)).replace(/\0.*$/s, "");
  };
  const main = folder(view.getUint32(4, isLittle));
  const turn = main.get(ORIENTATION);
  const inner = main.get(EXIF_FOLDER);
  const exif = inner === undefined ? new Map<number, number>() : folder(view.getUint32(inner + 8, isLittle));
  return {
    orientation: turn === undefined ? 1 : view.getUint16(turn + 8, isLittle),
    takenAt: text(exif.get(DATE_TIME_ORIGINAL)),
    offset: text(exif.get(OFFSET_TIME_ORIGINAL)) ?? text(exif.get(OFFSET_TIME)),
  };
}

function tiffBlock(bytes: Uint8Array): Uint8Array | null {
  if (bytes[0] === 0xff && bytes[1] === 0xd8) return inJpeg(bytes);
  if (latin(bytes, 1, 4) === "PNG") return inChunks(bytes, 8, "eXIf", false);
  if (latin(bytes, 0, 4) === "RIFF") return inChunks(bytes, 12, "EXIF", true);
  return latin(bytes, 4, 8) === "ftyp" ? inBoxes(bytes) : null;
}

function inJpeg(bytes: Uint8Array): Uint8Array | null {
  for (let at = 2; at + 4 < bytes.length && bytes[at] === 0xff;) {
    const marker = bytes[at + 1] ?? 0;
    if (marker === 0xda || marker === 0xd9) return null;
    // Fill bytes and markers that stand alone have no length.
    if (marker === 0xff || marker === 0x01 || (marker >= 0xd0 && marker <= 0xd8)) {
      at += marker === 0xff ? 1 : 2;
      continue;
    }
    const end = at + 2 + ((bytes[at + 2] ?? 0) << 8 | (bytes[at + 3] ?? 0));
    const block = marker === 0xe1 ? afterPrefix(bytes.subarray(at + 4, end)) : null;
    if (block) return block;
    at = end;
  }
  return null;
}

/** PNG: length, name, body, checksum. WebP: name, length (little-endian), body padded to an even length. */
function inChunks(bytes: Uint8Array, from: number, wanted: string, isRiff: boolean): Uint8Array | null {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  for (let at = from; at + 8 <= bytes.length;) {
    const length = view.getUint32(isRiff ? at + 4 : at, isRiff);
    const name = isRiff ? latin(bytes, at, at + 4) : latin(bytes, at + 4, at + 8);
    const body = bytes.subarray(at + 8, at + 8 + length);
    if (name === wanted) return afterPrefix(body) ?? (isTiff(body) ? body : null);
    at += isRiff ? 8 + length + (length % 2) : 12 + length;
  }
  return null;
}

/**
 * HEIC and AVIF keep the block among the pictures' own bytes, opened by the same name and header as in a
 * JPEG: looked for by those ten bytes instead of by the boxes that point to it.
 */
function inBoxes(bytes: Uint8Array): Uint8Array | null {
  for (let at = bytes.indexOf(0x45); at >= 0; at = bytes.indexOf(0x45, at + 1)) {
    const block = afterPrefix(bytes.subarray(at));
    if (block) return block;
  }
  return null;
}

function afterPrefix(bytes: Uint8Array): Uint8Array | null {
  const block = latin(bytes, 0, 6) === "Exif\0\0" ? bytes.subarray(6) : null;
  return block && isTiff(block) ? block : null;
}

const isTiff = (bytes: Uint8Array): boolean => ["II*\0", "MM\0*"].includes(latin(bytes, 0, 4));
const latin = (bytes: Uint8Array, from: number, to: number): string => String.fromCharCode(...bytes.subarray(from, to));
