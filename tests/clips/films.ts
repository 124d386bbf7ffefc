import { readFileSync } from "node:fs";
import { join } from "node:path";
import {
  BufferSource, BufferTarget, EncodedPacketSink, EncodedVideoPacketSource, Input, MP4, Mp4OutputFormat, Output, QTFF, WEBM, WebMOutputFormat,
  type EncodedPacket, type VideoCodec,
} from "mediabunny";

const film = (name: string) => readFileSync(join(process.cwd(), "tests/clips/recordings", name));

/**
 * Test pictures of 2 s, 320 by 240 pixels and 15 frames a second, written by FFmpeg 5.1 with libx264, libx265 and
 * libvpx, with a title, a maker, a place and a date of our own planting; the encoders sign themselves inside the film.
 * The first is turned by a quarter, and it and the third hold a tone. `large-vp8.webm`, for a browser, is 480 by 272, without words of ours; `turned-avc.mp4`, of the
 * same size and turned by a quarter, holds a tone, a title and a place.
 */
export const FILMS = {
  avc: () => film("phone-avc.mp4"), hevc: () => film("phone-hevc.mov"), vp8: () => film("phone-vp8.webm"), vp9: () => film("phone-vp9.webm"),
} as const;

export type Film = { readonly codec: VideoCodec; readonly config: VideoDecoderConfig; readonly packets: readonly EncodedPacket[] };

/** The films of a file with all their frames, and how many sound tracks there are. */
export async function filmsOf(file: Buffer): Promise<{ readonly films: readonly Film[]; readonly sounds: number }> {
  const input = new Input({ source: new BufferSource(file), formats: [WEBM, MP4, QTFF] });
  const films = await Promise.all((await input.getVideoTracks()).map(async (track) => {
    const packets: EncodedPacket[] = [];
    for await (const packet of new EncodedPacketSink(track).packets()) packets.push(packet);
    const [codec, config] = [await track.getCodec(), await track.getDecoderConfig()];
    if (!codec || !config) throw new Error("no codec");
    return { codec, config, packets };
  }));
  return { films, sounds: (await input.getAudioTracks()).length };
}

/** A file with these films, and how it asks for them to be shown. */
export async function filmed(container: "webm" | "mp4", some: readonly Film[], shown: { readonly rotation?: 90 | 180 | 270; readonly flip?: boolean } = {}): Promise<Buffer> {
  const target = new BufferTarget();
  const output = new Output({ format: container === "webm" ? new WebMOutputFormat() : new Mp4OutputFormat({ fastStart: false }), target });
  const sources = some.map(({ codec }) => new EncodedVideoPacketSource(codec));
  for (const source of sources) output.addVideoTrack(source, shown);
  await output.start();
  for (const [at, { config, packets }] of some.entries()) {
    for (const packet of packets) await sources[at]?.add(packet, { decoderConfig: config });
    sources[at]?.close();
  }
  await output.finalize();
  if (!target.buffer) throw new Error("nothing was made");
  return Buffer.from(target.buffer);
}

/** A film of so many of its first frames, laid `step` seconds apart. */
export async function lasting(container: "webm" | "mp4", count: number, step: number): Promise<Buffer> {
  const [one] = (await filmsOf(container === "webm" ? FILMS.vp8() : FILMS.avc())).films;
  const [first] = one?.packets ?? [];
  if (!one || !first) throw new Error("no frame");
  return filmed(container, [{ ...one, packets: Array.from({ length: count }, (_, at) => first.clone({ timestamp: at * step, duration: step })) }]);
}
