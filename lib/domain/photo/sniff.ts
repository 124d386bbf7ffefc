/** The kinds a family may send, told by content alone. */
export type PhotoKind = "jpeg" | "png" | "webp" | "heic";

/** Kinds that are told apart so that the sentence can say what was sent; all are refused. */
export type RefusedKind =
  | "animation"
  | "audio"
  | "avif"
  | "bmp"
  | "gif"
  | "html"
  | "jxl"
  | "pdf"
  | "svg"
  | "tiff"
  | "unknown"
  | "video"
  | "zip";

export type Sniffed =
  | { readonly accepted: true; readonly kind: PhotoKind }
  | { readonly accepted: false; readonly kind: RefusedKind };

/**
 * What the bytes are, by content alone: neither the file's name nor its declared type is asked.
 * A picture that moves (animated PNG or WebP, HEIC sequence) is refused rather than cut to one
 * frame: a set-up photo is one moment, and we will not guess which.
 */
export function sniff(bytes: Uint8Array): Sniffed {
  if (startsWith(bytes, 0, [0xff, 0xd8, 0xff])) return accept("jpeg");
  if (startsWith(bytes, 0, [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a])) {
    return isAnimatedPng(bytes) ? turnAway("animation") : accept("png");
  }
  if (text(bytes, 0, 4) === "RIFF") return sniffRiff(bytes);
  if (text(bytes, 4, 8) === "ftyp") return sniffBaseMedia(bytes);
  return turnAway(sniffOther(bytes));
}

const accept = (kind: PhotoKind): Sniffed => ({ accepted: true, kind });
const turnAway = (kind: RefusedKind): Sniffed => ({ accepted: false, kind });
const text = (bytes: Uint8Array, start: number, end: number) => String.fromCharCode(...bytes.subarray(start, end));
const readLong = (bytes: Uint8Array, at: number) => new DataView(bytes.buffer, bytes.byteOffset, bytes.length).getUint32(at);

function startsWith(bytes: Uint8Array, at: number, signature: readonly number[]): boolean {
  return signature.every((value, index) => bytes[at + index] === value);
}

/** The animation control chunk must stand before the first image data (PNG third edition, 11.3.6). */
function isAnimatedPng(bytes: Uint8Array): boolean {
  let at = 8;
  while (at + 8 <= bytes.length) {
    const type = text(bytes, at + 4, at + 8);
    if (type === "acTL") return true;
    if (type === "IDAT" || type === "IEND") return false;
    at += 12 + readLong(bytes, at);
  }
  return false;
}

function sniffRiff(bytes: Uint8Array): Sniffed {
  const form = text(bytes, 8, 12);
  if (form === "WAVE") return turnAway("audio");
  if (form !== "WEBP") return turnAway(form === "AVI " ? "video" : "unknown");
  const animated = text(bytes, 12, 16) === "VP8X" && ((bytes[20] ?? 0) & 0x02) !== 0;
  return animated ? turnAway("animation") : accept("webp");
}

const STILL_HEVC = ["heic", "heix"];
const SEQUENCE = ["hevc", "hevx", "msf1", "avis"];

/** Brands of the ISO base media file format: the same box opens photos, films and sound. */
function sniffBaseMedia(bytes: Uint8Array): Sniffed {
  const end = Math.min(readLong(bytes, 0), bytes.length, 256);
  const major = text(bytes, 8, 12);
  const brands = [major];
  for (let at = 16; at + 4 <= end; at += 4) brands.push(text(bytes, at, at + 4));
  if (major === "avif") return turnAway("avif");
  if (STILL_HEVC.includes(major)) return accept("heic");
  if (SEQUENCE.includes(major)) return turnAway("animation");
  if (major === "mif1") {
    if (brands.some((brand) => STILL_HEVC.includes(brand))) return accept("heic");
    return turnAway(brands.includes("avif") ? "avif" : "unknown");
  }
  return turnAway(major.startsWith("M4A") ? "audio" : "video");
}

const SIGNATURES: readonly (readonly [RefusedKind, readonly number[]])[] = [
  ["gif", [0x47, 0x49, 0x46, 0x38]],
  ["tiff", [0x49, 0x49, 0x2a, 0x00]],
  ["tiff", [0x4d, 0x4d, 0x00, 0x2a]],
  ["pdf", [0x25, 0x50, 0x44, 0x46]],
  ["zip", [0x50, 0x4b, 0x03, 0x04]],
  ["bmp", [0x42, 0x4d]],
  ["audio", [0x4f, 0x67, 0x67, 0x53]],
  ["audio", [0x49, 0x44, 0x33]],
  ["video", [0x1a, 0x45, 0xdf, 0xa3]],
  ["jxl", [0xff, 0x0a]],
  ["jxl", [0x00, 0x00, 0x00, 0x0c, 0x4a, 0x58, 0x4c, 0x20]],
];

function sniffOther(bytes: Uint8Array): RefusedKind {
  const known = SIGNATURES.find(([, signature]) => startsWith(bytes, 0, signature));
  if (known) return known[0];
  const opening = text(bytes, 0, 2048).replace(/^\u00EF\u00BB\u00BF/, "").trimStart().toLowerCase();
  if (!opening.startsWith("<")) return "unknown";
  if (opening.includes("<svg")) return "svg";
  return /<(?:!doctype html|html|head|body|script)/.test(opening) ? "html" : "unknown";
}
