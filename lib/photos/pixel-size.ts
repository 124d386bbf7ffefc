import type { PixelSize } from "@/lib/photos/limits";

/**
 * Width and height from the header alone, before anything is decoded, as stored (not yet upright).
 * Null when the header is cut short or makes no sense. Reads forward only, so its time is bounded
 * by the length of the file. HEIC has its own reader, `heif-boxes.ts`.
 */
export function readPixelSize(kind: "jpeg" | "png" | "webp", bytes: Buffer): PixelSize | null {
  try {
    const size = { jpeg: readJpeg, png: readPng, webp: readWebp }[kind](bytes);
    return size && size.width > 0 && size.height > 0 ? size : null;
  } catch (error) {
    // Buffer reads past the end: the file is shorter than its own header says.
    if (error instanceof RangeError) return null;
    throw error;
  }
}

/** First frame header (SOF0..SOF15 without DHT, JPG, DAC); ITU-T T.81, B.2.2. */
function readJpeg(bytes: Buffer): PixelSize | null {
  let at = 2;
  while (at < bytes.length) {
    if (bytes.readUInt8(at) !== 0xff) return null;
    while (bytes.readUInt8(at) === 0xff) at += 1;
    const marker = bytes.readUInt8(at);
    at += 1;
    if (marker === 0x01 || (marker >= 0xd0 && marker <= 0xd8)) continue;
    if (marker === 0xda || marker === 0xd9) return null;
    const isFrame = marker >= 0xc0 && marker <= 0xcf && ![0xc4, 0xc8, 0xcc].includes(marker);
    if (isFrame) return { height: bytes.readUInt16BE(at + 3), width: bytes.readUInt16BE(at + 5) };
    const length = bytes.readUInt16BE(at);
    if (length < 2) return null;
    at += length;
  }
  return null;
}

/** IHDR is always first; PNG third edition, 11.2.1. */
function readPng(bytes: Buffer): PixelSize | null {
  if (bytes.toString("latin1", 12, 16) !== "IHDR") return null;
  return { width: bytes.readUInt32BE(16), height: bytes.readUInt32BE(20) };
}

/** The three openings of a WebP file; RFC 9649, 2.5 to 2.7, and RFC 6386, 9.1. */
function readWebp(bytes: Buffer): PixelSize | null {
  switch (bytes.toString("latin1", 12, 16)) {
    case "VP8X":
      return { width: bytes.readUIntLE(24, 3) + 1, height: bytes.readUIntLE(27, 3) + 1 };
    case "VP8 ":
      if (bytes.readUIntBE(23, 3) !== 0x9d012a) return null;
      return { width: bytes.readUInt16LE(26) & 0x3fff, height: bytes.readUInt16LE(28) & 0x3fff };
    case "VP8L": {
      if (bytes.readUInt8(20) !== 0x2f) return null;
      const packed = bytes.readUInt32LE(21);
      return { width: (packed & 0x3fff) + 1, height: ((packed >>> 14) & 0x3fff) + 1 };
    }
    default:
      return null;
  }
}
