/**
 * The same JPEG without any metadata: every application segment, every comment and whatever follows the
 * picture go. A browser's encoder may write some by itself. The
 * pixels are in sRGB, which is what a JPEG without a profile means. Throws on what is no baseline or
 * progressive JPEG. ITU-T T.81, annex B.
 */
export function bareJpeg(bytes: Uint8Array): Uint8Array {
  const kept: Uint8Array[] = [bytes.subarray(0, 2)];
  let at = 2;
  for (;;) {
    const marker = bytes[at + 1];
    if (bytes[at] !== 0xff || marker === undefined) throw new RangeError("no JPEG segment");
    const end = at + 2 + ((bytes[at + 2] ?? 0) << 8 | (bytes[at + 3] ?? 0));
    const isScan = marker === 0xda;
    if (!isMetadata(marker)) kept.push(bytes.subarray(at, end));
    at = end;
    if (!isScan) continue;
    const next = afterScan(bytes, at);
    kept.push(bytes.subarray(at, next));
    at = next;
    if (bytes[at + 1] !== 0xd9) continue;
    kept.push(bytes.subarray(at, at + 2));
    return joined(kept);
  }
}

/** APP0 to APP15 and comments. JFIF's own states a density and may hold a thumbnail; readers do without it. */
const isMetadata = (marker: number): boolean => (marker >= 0xe0 && marker <= 0xef) || marker === 0xfe;

/** Where the next marker stands after entropy-coded bytes; restarts and stuffed zeros belong to those. */
function afterScan(bytes: Uint8Array, from: number): number {
  for (let at = bytes.indexOf(0xff, from); at >= 0; at = bytes.indexOf(0xff, at + 1)) {
    const next = bytes[at + 1] ?? 0;
    const isInside = next === 0 || next === 0xff || (next >= 0xd0 && next <= 0xd7);
    if (!isInside) return at;
  }
  throw new RangeError("a JPEG without an end");
}

function joined(parts: readonly Uint8Array[]): Uint8Array {
  const out = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}
