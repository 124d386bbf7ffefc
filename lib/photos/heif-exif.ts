import { boxesIn, findBox, type Box } from "@/lib/photos/heif-boxes";

/** The TIFF block of a HEIC file's EXIF item (ISO/IEC 23008-12, annex A.2), or null. */
export function readHeifExif(bytes: Buffer): Buffer | null {
  try {
    const meta = findBox(boxesIn(bytes, 0, bytes.length), "meta");
    if (!meta) return null;
    const inMeta = boxesIn(bytes, meta.start + 4, meta.end);
    const iinf = findBox(inMeta, "iinf");
    const iloc = findBox(inMeta, "iloc");
    const item = iinf && exifItem(bytes, iinf);
    if (!iloc || item === undefined) return null;
    const place = placeOf(bytes, iloc, item);
    if (!place) return null;
    const payload = bytes.subarray(place.at, place.at + place.length);
    // Four bytes say how far on the TIFF header stands.
    return payload.subarray(4 + payload.readUInt32BE(0));
  } catch (error) {
    // Buffer reads past the end: the file is shorter than its own boxes say.
    if (error instanceof RangeError) return null;
    throw error;
  }
}

function exifItem(bytes: Buffer, iinf: Box): number | undefined {
  const countLength = bytes.readUInt8(iinf.start) === 0 ? 2 : 4;
  for (const entry of boxesIn(bytes, iinf.start + 4 + countLength, iinf.end)) {
    const version = bytes.readUInt8(entry.start);
    if (entry.type !== "infe" || version < 2) continue;
    const idLength = version === 2 ? 2 : 4;
    const typeAt = entry.start + 4 + idLength + 2;
    if (bytes.toString("latin1", typeAt, typeAt + 4) === "Exif") return bytes.readUIntBE(entry.start + 4, idLength);
  }
  return undefined;
}

/** First extent of an item that lies at a place in the file (ISO/IEC 14496-12, 8.11.3). */
function placeOf(bytes: Buffer, iloc: Box, wanted: number): { at: number; length: number } | null {
  const version = bytes.readUInt8(iloc.start);
  const lengths = bytes.readUInt16BE(iloc.start + 4);
  const [offsetLength, lengthLength, baseLength] = [(lengths >> 12) & 15, (lengths >> 8) & 15, (lengths >> 4) & 15];
  const indexLength = version > 0 ? lengths & 15 : 0;
  const idLength = version < 2 ? 2 : 4;
  const number = (at: number, length: number) => (length === 0 ? 0 : Number(BigInt(`0x${bytes.toString("hex", at, at + length) || "0"}`)));
  let at = iloc.start + 6;
  const count = bytes.readUIntBE(at, idLength);
  at += idLength;
  for (let index = 0; index < count && at < iloc.end; index += 1) {
    const id = bytes.readUIntBE(at, idLength);
    at += idLength;
    const method = version > 0 ? bytes.readUInt16BE(at) & 15 : 0;
    at += (version > 0 ? 2 : 0) + 2;
    const base = number(at, baseLength);
    at += baseLength;
    const extents = bytes.readUInt16BE(at);
    at += 2;
    const first = at + indexLength;
    if (id === wanted && method === 0 && extents > 0) {
      return { at: base + number(first, offsetLength), length: number(first + offsetLength, lengthLength) };
    }
    at += extents * (indexLength + offsetLength + lengthLength);
  }
  return null;
}
