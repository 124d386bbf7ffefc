import type { ClipHeader } from "@/lib/domain/clip/inspect";
import { parseTakenAt, type TakenAt } from "@/lib/domain/photo/taken-at";

type Box = { readonly type: string; readonly body: Uint8Array };

/** Enough for a thousand tracks with all their tables; a hostile file of millions of empty boxes ends here. */
const MOST_BOXES = 100_000;
/** Seconds from the first of January 1904, from which these files count, to 1970. */
const SINCE_1904 = 2_082_844_800;
const latin = (bytes: Uint8Array, from: number, to: number): string => String.fromCharCode(...bytes.subarray(from, to));

/** What an MP4 or QuickTime file says of its tracks and its time (ISO/IEC 14496-12); null when it holds no film header or its boxes lie. */
export function readBoxes(bytes: Uint8Array): ClipHeader | null {
  const left = { boxes: MOST_BOXES };
  const moov = boxesIn(bytes, left)?.find(({ type }) => type === "moov");
  const inside = moov && boxesIn(moov.body, left);
  if (!inside) return null;
  const tracks = inside.filter(({ type }) => type === "trak");
  const read = tracks.map(({ body }) => trackIn(body, left));
  const films = read.filter((track) => track?.handler === "vide");
  return {
    tracks: tracks.length, films: films.length, isEncrypted: films.some((track) => track?.entry === "encv"),
    takenAt: takenIn(inside, left),
  };
}

/** The boxes of one level. A last one that claims more than there is ends the list; null when there are too many. */
function boxesIn(bytes: Uint8Array, left: { boxes: number }): readonly Box[] | null {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  const found: Box[] = [];
  for (let at = 0; at + 8 <= bytes.length;) {
    if ((left.boxes -= 1) < 0) return null;
    const short = view.getUint32(at);
    const isLong = short === 1 && at + 16 <= bytes.length;
    const head = isLong ? 16 : 8;
    // 0: to the end of the file.
    const length = short === 0 ? bytes.length - at : isLong ? Number(view.getBigUint64(at + 8)) : short;
    if (length < head || at + length > bytes.length) return found;
    found.push({ type: latin(bytes, at + 4, at + 8), body: bytes.subarray(at + head, at + length) });
    at += length;
  }
  return found;
}

function inner(bytes: Uint8Array, path: readonly string[], left: { boxes: number }): Uint8Array | null {
  const [next, ...rest] = path;
  if (next === undefined) return bytes;
  const box = boxesIn(bytes, left)?.find(({ type }) => type === next);
  return box ? inner(box.body, rest, left) : null;
}

/** What kind of track it is, and under which name its samples stand; an encrypted film's is `encv` (ISO/IEC 14496-12, 8.12). */
function trackIn(trak: Uint8Array, left: { boxes: number }): { readonly handler: string; readonly entry: string } | null {
  const handler = inner(trak, ["mdia", "hdlr"], left);
  const entries = inner(trak, ["mdia", "minf", "stbl", "stsd"], left);
  return handler && { handler: latin(handler, 8, 12), entry: entries ? latin(entries, 12, 16) : "" };
}

/**
 * When it was taken: the maker's own date with its zone where there is one (QuickTime metadata), else the
 * header's, which is UTC. An edited copy carries the day of the edit there, so the maker's comes first.
 */
function takenIn(moov: readonly Box[], left: { boxes: number }): TakenAt | null {
  const said = makersDate(moov, left);
  return said ?? headersDate(moov.find(({ type }) => type === "mvhd")?.body);
}

function headersDate(mvhd: Uint8Array | undefined): TakenAt | null {
  if (!mvhd || mvhd.length < 12) return null;
  const view = new DataView(mvhd.buffer, mvhd.byteOffset, mvhd.length);
  const seconds = view.getUint8(0) === 1 ? Number(view.getBigUint64(4)) : view.getUint32(4);
  const at = (seconds - SINCE_1904) * 1000;
  // 0 is "not stated"; before cameras of this kind there were none.
  return at < Date.UTC(1990, 0, 1) || at > Date.UTC(2200, 0, 1) ? null : { at, zoneKnown: true };
}

const CREATION_DATE = "com.apple.quicktime.creationdate";

function makersDate(moov: readonly Box[], left: { boxes: number }): TakenAt | null {
  const user = moov.find(({ type }) => type === "udta")?.body;
  const metas = [...moov, ...((user && boxesIn(user, left)) ?? [])].filter(({ type }) => type === "meta");
  // QuickTime's own meta box has no version before its boxes, MP4's has.
  const boxes = metas.flatMap(({ body }) => [body, body.subarray(4)]).map((body) => boxesIn(body, left) ?? []).find((each) => each.some(({ type }) => type === "keys"));
  const keys = boxes?.find(({ type }) => type === "keys")?.body;
  const values = boxes?.find(({ type }) => type === "ilst")?.body;
  const index = keys ? namesIn(keys, left).indexOf(CREATION_DATE) + 1 : 0;
  const value = index > 0 && values ? boxesIn(values, left)?.find(({ type }) => numberOf(type) === index)?.body : undefined;
  // A `data` box: kind and locale, then the words.
  const words = value && inner(value, ["data"], left);
  return words ? parseIso(latin(words, 8, 48)) : null;
}

/** The names of a `keys` box: version and count, then length, namespace and name of each. */
const namesIn = (keys: Uint8Array, left: { boxes: number }): readonly string[] =>
  (boxesIn(keys.subarray(8), left) ?? []).map(({ body }) => latin(body, 0, Math.min(body.length, 64)));

const numberOf = (type: string): number => [...type].reduce((sum, each) => sum * 256 + each.charCodeAt(0), 0);

const ISO = /^(\d{4})-(\d\d)-(\d\d)T(\d\d:\d\d:\d\d)(?:\.\d+)?(?:([+-]\d\d):?(\d\d)|(Z))?/;

function parseIso(text: string): TakenAt | null {
  const [, year, month, day, time, hours, minutes, utc] = ISO.exec(text) ?? [];
  const offset = utc ? "+00:00" : hours && minutes ? `${hours}:${minutes}` : undefined;
  return year && month && day && time ? parseTakenAt(`${year}:${month}:${day} ${time}`, offset) : null;
}
