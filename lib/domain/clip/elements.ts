import type { ClipHeader } from "@/lib/domain/clip/inspect";
import type { TakenAt } from "@/lib/domain/photo/taken-at";

/** RFC 9559, 5.1; ids keep their length marker (RFC 8794, 5). */
const SEGMENT = 0x18538067;
const INFO = 0x1549a966;
const DATE = 0x4461;
const TRACKS = 0x1654ae6b;
const TRACK = 0xae;
const TRACK_TYPE = 0x83;
const ENCODINGS = 0x6d80;
const ENCODING = 0x6240;
const ENCRYPTION = 0x5035;
const CLUSTER = 0x1f43b675;
const FILM = 1;

const MOST_ELEMENTS = 100_000;

type Element = { readonly id: number; readonly body: Uint8Array };

/** What a WebM file says of its tracks and its time; null when it names no tracks. What comes after the first cluster is not read. */
export function readElements(bytes: Uint8Array): ClipHeader | null {
  const left = { elements: MOST_ELEMENTS };
  const segment = elementsIn(bytes, left).find(({ id }) => id === SEGMENT);
  if (!segment) return null;
  const inside = elementsIn(segment.body, left);
  const list = inside.find(({ id }) => id === TRACKS);
  if (!list) return null;
  const tracks = elementsIn(list.body, left).filter(({ id }) => id === TRACK).map(({ body }) => elementsIn(body, left));
  const films = tracks.filter((track) => track.some(({ id, body }) => id === TRACK_TYPE && body.at(-1) === FILM));
  const isEncrypted = films.flat().filter(({ id }) => id === ENCODINGS)
    .flatMap(({ body }) => elementsIn(body, left)).filter(({ id }) => id === ENCODING)
    .some(({ body }) => elementsIn(body, left).some(({ id }) => id === ENCRYPTION));
  const info = inside.find(({ id }) => id === INFO);
  return { tracks: tracks.length, films: films.length, isEncrypted, takenAt: info ? dateIn(elementsIn(info.body, left)) : null };
}

/** The elements of one level, up to a cluster. One without a known size goes to the end of what holds it. */
function elementsIn(bytes: Uint8Array, left: { elements: number }): readonly Element[] {
  const found: Element[] = [];
  for (let at = 0; at < bytes.length;) {
    if ((left.elements -= 1) < 0) return found;
    const id = numberAt(bytes, at, false);
    const size = id && numberAt(bytes, at + id.length, true);
    if (!id || !size || id.value === CLUSTER) return found;
    const start = at + id.length + size.length;
    const end = size.value === null ? bytes.length : start + size.value;
    // The segment of a recording that was cut off ends where the file does.
    if (end > bytes.length && id.value !== SEGMENT) return found;
    found.push({ id: id.value ?? 0, body: bytes.subarray(start, end) });
    at = end;
  }
  return found;
}

/** A variable-size integer (RFC 8794, 4); a value of null is the reserved "unknown". */
function numberAt(bytes: Uint8Array, at: number, isSize: boolean): { readonly value: number | null; readonly length: number } | null {
  const first = bytes[at];
  if (!first) return null;
  const length = Math.clz32(first) - 23;
  if (at + length > bytes.length) return null;
  const rest = bytes.subarray(at + 1, at + length);
  const mask = 0xff >> length;
  const isUnknown = isSize && (first & mask) === mask && rest.every((byte) => byte === 0xff);
  const value = rest.reduce((sum, byte) => sum * 256 + byte, isSize ? first & mask : first);
  return { value: isUnknown ? null : value, length };
}

/** Nanoseconds since the first of January 2001, UTC (RFC 9559, 5.1.2.8). */
function dateIn(info: readonly Element[]): TakenAt | null {
  const body = info.find(({ id }) => id === DATE)?.body;
  if (body?.length !== 8) return null;
  const since = new DataView(body.buffer, body.byteOffset, 8).getBigInt64(0);
  const at = Date.UTC(2001, 0, 1) + Number(since / 1_000_000n);
  return at < Date.UTC(2001, 0, 2) || at > Date.UTC(2200, 0, 1) ? null : { at, zoneKnown: true };
}
