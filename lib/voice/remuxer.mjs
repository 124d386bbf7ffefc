/**
 * The remuxer: a child process that takes the sound packets out of an untrusted recording and writes
 * them into a new container, so that titles, dates, places and the recorder's name stay behind, and a
 * crash, a memory bomb or an endless loop ends this process and nothing else. It never decodes sound.
 *
 *   node lib/voice/remuxer.mjs voice --memory-mb=400
 *
 * `lib/photos/child.mjs` says how it is asked, bounded and ended.
 */
import {
  BufferSource, BufferTarget, EncodedAudioPacketSource, EncodedPacketSink, Input, MP4, Mp4OutputFormat, Output, WEBM, WebMOutputFormat,
} from "mediabunny";

// Every child behaves the one way, which lies with the photos; plain JavaScript knows no "@/".
const { serveParent } = await import(new URL("../photos/child.mjs", import.meta.url).href);

const MAX_MS = 181_000;
/** Opus in its shortest frames, 2.5 ms each (RFC 6716, 2.1.4), for as long as a note may be. */
const MAX_PACKETS = MAX_MS / 2.5;

const KINDS = {
  webm: { input: WEBM, codecs: ["opus"], output: () => new WebMOutputFormat() },
  // Safari records AAC in MP4; Chromium, where it has no AAC encoder, Opus in MP4.
  mp4: { input: MP4, codecs: ["aac", "opus"], output: () => new Mp4OutputFormat({ fastStart: "in-memory" }) },
};

// MP4 counts from 1904 and the library stamps the time of writing into it three times: here it reads as "not stated".
Date.now = () => Date.UTC(1904, 0, 1);

/** Why a recording is refused; anything thrown that is none of these is damage. */
class Refused extends Error {
  constructor(fault) {
    super(fault);
    this.fault = fault;
  }
}

serveParent(process.argv[3], async ({ operation, kind }, [bytes]) => {
  if (operation === "warm") return { parts: [] };
  const { durationMs, made } = await remux(kind, bytes);
  return { header: { durationMs }, parts: [made] };
}, (error) => (error instanceof Refused ? error.fault : "damaged"));

async function remux(kind, bytes) {
  const { input: format, codecs, output: outputFormat } = KINDS[kind];
  const input = new Input({ source: new BufferSource(bytes), formats: [format] });
  const tracks = await input.getTracks();
  const [track] = tracks;
  if (!track || tracks.length > 1 || track.type !== "audio") throw new Refused("not-one-sound");
  const codec = await track.getCodec();
  if (!codecs.includes(codec)) throw new Refused("codec");
  const decoderConfig = cleanConfig(codec, await track.getDecoderConfig());

  const packets = [];
  let played = 0;
  for await (const packet of new EncodedPacketSink(track).packets()) {
    played += playedMs(codec, packet.data, decoderConfig.sampleRate);
    packets.push(packet);
    if (packets.length > MAX_PACKETS || Math.max(played, spanMs(packets)) > MAX_MS) throw new Refused("too-long");
  }
  if (packets.length === 0 || played === 0) throw new Refused("empty");

  const target = new BufferTarget();
  const output = new Output({ format: outputFormat(), target });
  const source = new EncodedAudioPacketSource(codec);
  output.addAudioTrack(source);
  await output.start();
  const [{ timestamp: start }] = packets;
  for (const packet of packets) {
    const duration = playedMs(codec, packet.data, decoderConfig.sampleRate) / 1000;
    await source.add(packet.clone({ timestamp: packet.timestamp - start, duration, sideData: {} }), { decoderConfig });
  }
  await output.finalize();
  return { durationMs: Math.round(Math.max(played, spanMs(packets))), made: new Uint8Array(target.buffer) };
}

/** From the first packet's beginning to the last one's; a hole in between counts as a player would wait in it. */
const spanMs = (packets) => (packets.at(-1).timestamp - packets[0].timestamp) * 1000;

/** What of the decoder's own settings is needed to play, and no byte behind it. */
function cleanConfig(codec, config) {
  const { sampleRate, numberOfChannels, description } = config;
  if (numberOfChannels > 2) throw new Refused("codec");
  const given = description ? new Uint8Array(description.buffer ?? description, description.byteOffset ?? 0, description.byteLength) : null;
  if (codec === "opus") {
    // RFC 7845, 5.1: 19 bytes, the last of which says how channels are mapped; 0 is mono or stereo.
    if (given && (given.length < 19 || given[18] !== 0)) throw new Refused("codec");
    return { codec: "opus", sampleRate, numberOfChannels, ...(given ? { description: given.slice(0, 19) } : {}) };
  }
  // ISO/IEC 14496-3, 1.6.2.1: an AudioSpecificConfig of low-complexity or high-efficiency AAC fits in 7 bytes.
  if (!given || given.length < 2 || given.length > 7) throw new Refused("codec");
  return { codec: config.codec, sampleRate, numberOfChannels, description: given };
}

/** How long one packet sounds, by its own bytes. */
function playedMs(codec, data, sampleRate) {
  if (data.length === 0) return 0;
  if (codec === "aac") return 1_024_000 / sampleRate;
  return opusFrameMs(data[0] >> 3) * opusFrames(data);
}

/** RFC 6716, table 2: configuration numbers and their frame sizes. */
function opusFrameMs(config) {
  if (config < 12) return [10, 20, 40, 60][config % 4];
  if (config < 16) return [10, 20][config % 2];
  return [2.5, 5, 10, 20][config % 4];
}

/** RFC 6716, 3.2: the code in the lowest two bits says one frame, two, or as many as the next byte says. */
function opusFrames(data) {
  const code = data[0] & 3;
  if (code === 0) return 1;
  return code < 3 ? 2 : (data[1] ?? 0) & 63;
}
