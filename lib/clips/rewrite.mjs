/**
 * The frames of one film taken out of a file and written into a new container, so that sound, titles, dates, places and
 * the maker's name stay behind. No frame is decoded. On the server it runs in a child process (`remuxer.mjs`), on a phone
 * in a worker, before anything is sent; both say first that the clock stands at "not stated" (`NOT_STATED`).
 */
import {
  BufferSource, BufferTarget, EncodedPacketSink, EncodedVideoPacketSource, Input, MATROSKA, MP4, Mp4OutputFormat, Output, QTFF, WEBM, WebMOutputFormat,
} from "mediabunny";
import { Broken, bareFrame, bareSettings, lengthBytes } from "./parameter-sets.mjs";

/** MP4 counts from 1904, and the library stamps the time of writing into it three times, taken from `Date.now`. */
export const NOT_STATED = Date.UTC(1904, 0, 1);

const MAX_MS = 21_000;
/** As long as a clip may be, at the most frames a second that phones film with. */
const MAX_FRAMES = (MAX_MS / 1000) * 240;
const MIN_SIDE = 200;
const MAX_SIDE = 4096;

const KINDS = {
  webm: { inputs: [WEBM, MATROSKA], codecs: ["vp8", "vp9", "av1"], output: () => new WebMOutputFormat() },
  mp4: { inputs: [MP4, QTFF], codecs: ["avc", "hevc"], output: () => new Mp4OutputFormat({ fastStart: "in-memory" }) },
};

/** Why a clip is refused; anything thrown that is none of these is damage. */
class Refused extends Error {
  constructor(fault) {
    super(fault);
    this.fault = fault;
  }
}

/**
 * Our own name for what went wrong: a library's words may quote the file.
 * @param {unknown} error
 * @returns {import("@/lib/domain/clip/faults").ClipFault}
 */
export const faultOf = (error) => (error instanceof Refused ? error.fault : "damaged");

/**
 * @param {"webm" | "mp4"} kind
 * @param {Uint8Array} bytes
 * @returns {Promise<{ codec: import("@/lib/domain/clip/limits").ClipCodec, durationMs: number, frames: number, width: number, height: number, mirroredFlag: boolean, made: Uint8Array<ArrayBuffer> }>} rejects with what `faultOf` names
 */
export async function rewrite(kind, bytes) {
  const { inputs, codecs, output: outputFormat } = KINDS[kind];
  const input = new Input({ source: new BufferSource(bytes), formats: inputs });
  const films = await input.getVideoTracks();
  const [track] = films;
  if (!track || films.length > 1) throw new Refused("not-one-film");
  const codec = await track.getCodec();
  if (!codecs.includes(codec)) throw new Refused("codec");
  const { decoderConfig, bare } = cleaned(codec, await track.getDecoderConfig());
  const [rotation, flip] = [await track.getRotation(), await track.getFlip()];
  // Some players turn such a WebM and some do not: family and therapist could see two films. No phone's camera writes one.
  if (kind === "webm" && (rotation !== 0 || flip)) throw new Refused("codec");
  const [width, height] = [await track.getDisplayWidth(), await track.getDisplayHeight()];
  const sides = [width, height, decoderConfig.codedWidth, decoderConfig.codedHeight];
  if (!sides.every((side) => side >= MIN_SIDE && side <= MAX_SIDE)) throw new Refused("sides");

  const packets = lasting(shown(await framesOf(track)));
  const start = packets.reduce((first, { timestamp }) => Math.min(first, timestamp), Infinity);
  const end = packets.reduce((last, { timestamp, duration }) => Math.max(last, timestamp + Math.min(duration, 1)), 0);
  const durationMs = Math.round((end - start) * 1000);
  if (durationMs < 1) throw new Refused("empty");

  const target = new BufferTarget();
  const output = new Output({ format: outputFormat(), target });
  const source = new EncodedVideoPacketSource(codec);
  output.addVideoTrack(source, { rotation, flip });
  await output.start();
  for (const packet of packets) {
    await source.add(packet.clone({ data: bare(packet.data), timestamp: packet.timestamp - start, sideData: {} }), { decoderConfig });
  }
  await output.finalize();
  return { codec, durationMs, frames: packets.length, width, height, mirroredFlag: flip, made: new Uint8Array(target.buffer) };
}

/** Every frame, counted while read: neither a header nor a lie about time makes a film long enough to fill the memory. */
async function framesOf(track) {
  const packets = [];
  let [first, last] = [Infinity, -Infinity];
  for await (const packet of new EncodedPacketSink(track).packets()) {
    packets.push(packet);
    // What was trimmed off in the gallery stands before 0.
    first = Math.min(first, Math.max(0, packet.timestamp));
    last = Math.max(last, packet.timestamp);
    if (packets.length > MAX_FRAMES || (last - first) * 1000 > MAX_MS) throw new Refused("too-long");
  }
  if (packets.length === 0) throw new Refused("empty");
  if (packets[0].type !== "key") throw new Broken("begins in the middle");
  return packets;
}

/** What a person trimmed off the beginning does not come along, but for what the first frame that is shown is built on. */
function shown(packets) {
  const from = packets.findLastIndex(({ type, timestamp }) => type === "key" && timestamp <= 0);
  const kept = packets.slice(Math.max(0, from));
  if (kept.at(-1).timestamp < 0) throw new Refused("empty");
  return kept;
}

/** A recorder's last frame, and one written without its length, lasts as long as the others do on average, in whole milliseconds. */
function lasting(packets) {
  const last = packets.at(-1);
  if (last.duration > 0 || packets.length < 2) return packets;
  const duration = Math.round(((last.timestamp - packets[0].timestamp) / (packets.length - 1)) * 1000) / 1000;
  return [...packets.slice(0, -1), last.clone({ duration })];
}

/** What of the decoder's own settings is needed to play, and how each frame is rid of words. */
function cleaned(codec, config) {
  const { codedWidth, codedHeight, displayAspectWidth, displayAspectHeight, colorSpace, description } = config;
  const plain = {
    codec: config.codec, codedWidth, codedHeight, ...(colorSpace ? { colorSpace } : {}),
    ...(displayAspectWidth && displayAspectHeight ? { displayAspectWidth, displayAspectHeight } : {}),
  };
  const given = description ? new Uint8Array(description.buffer ?? description, description.byteOffset ?? 0, description.byteLength) : null;
  if (codec === "avc" || codec === "hevc") {
    if (!given) throw new Broken("no decoder settings");
    const lengthSize = lengthBytes(codec, given);
    return { decoderConfig: { ...plain, description: bareSettings(codec, given) }, bare: (data) => bareFrame(codec, data, lengthSize) };
  }
  // AV1's first four bytes are its settings; what may follow stands in its first frame as well.
  return { decoderConfig: { ...plain, ...(codec === "av1" && given ? { description: given.slice(0, 4) } : {}) }, bare: (data) => data };
}
