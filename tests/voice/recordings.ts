import { readFileSync } from "node:fs";
import { join } from "node:path";

const recording = (name: string) => readFileSync(join(process.cwd(), "tests/voice/recordings", name));

/**
 * Two recordings of Chromium 156's own recorder from its fake microphone (a beep each second; nobody
 * speaks): 1.2 s, paused for 0.8 s, 1.0 s more, asked for a piece every second, so WebM with open-ended
 * sizes and no duration, and MP4 in fragments. The pause is not in the sound: about 2.2 s.
 */
export const browserWebm = () => recording("browser-opus.webm");
export const browserMp4 = () => recording("browser-opus.mp4");

/**
 * A sine tone of 2.4 s written by FFmpeg 5.1 (AAC at 44.1 kHz in MP4; Opus in WebM) with a title, a maker,
 * a place, a date and a track's name of our own planting. `-flags:a +bitexact` keeps FFmpeg's AAC encoder
 * from signing its first packet: phones' encoders do not, and only decoding could remove it.
 */
export const toneMp4 = () => recording("tone-aac.mp4");
export const toneWebm = () => recording("tone-opus.webm");

export const ALL = { browserWebm, browserMp4, toneMp4, toneWebm } as const;

/** A box of ISO/IEC 14496-12: 32-bit length with header, type, content. */
export function box(type: string, ...content: readonly Uint8Array[]): Buffer {
  const body = Buffer.concat(content);
  const head = Buffer.alloc(8);
  head.writeUInt32BE(body.length + 8);
  head.write(type, 4, "latin1");
  return Buffer.concat([head, body]);
}

/** Where the one top-level box of a type lies. */
export function topBox(file: Buffer, type: string): { readonly at: number; readonly size: number } {
  for (let at = 0; at + 8 <= file.length; at += file.readUInt32BE(at)) {
    if (file.toString("latin1", at + 4, at + 8) === type) return { at, size: file.readUInt32BE(at) };
  }
  throw new Error(`no ${type}`);
}

/** Puts boxes at the end of `moov`, which must be the last box but for what nobody points into. */
export function inMoov(file: Buffer, ...boxes: readonly Buffer[]): Buffer {
  const { at, size } = topBox(file, "moov");
  const moov = box("moov", file.subarray(at + 8, at + size), ...boxes);
  return Buffer.concat([file.subarray(0, at), moov, file.subarray(at + size)]);
}

/** What phones write: a place as `©xyz`, a maker as `©mak`, each with its length and language before it. */
export function phoneAtoms(): Buffer {
  const text = (type: string, words: string) => {
    const head = Buffer.alloc(4);
    head.writeUInt16BE(words.length);
    head.writeUInt16BE(0x15c7, 2);
    return box(type, head, Buffer.from(words, "latin1"));
  };
  return box("udta", text("\u00a9xyz", "+48.2082+016.3738/"), text("\u00a9mak", "PlantedPhone"), text("\u00a9day", "2016-03-24T10:11:12+0100"));
}

/** What hides a spoken word outside every track: a `uuid`, a `free` and a `skip` box behind the rest. */
export const strayBoxes = () => Buffer.concat([
  box("free", Buffer.from("PlantedFree")), box("skip", Buffer.from("PlantedSkip")),
  box("uuid", Buffer.from("be7acfcb97a942e89c71999491e3afac", "hex"), Buffer.from("<x:xmpmeta>PlantedXmp</x:xmpmeta>")),
]);
