import {
  BufferSource, BufferTarget, EncodedAudioPacketSource, EncodedPacket, EncodedPacketSink, EncodedVideoPacketSource, Input, MP4, Mp4OutputFormat, Output, WEBM, WebMOutputFormat,
  type AudioCodec,
} from "mediabunny";
import { toneWebm } from "@/tests/voice/recordings";

export type Track = { readonly codec: AudioCodec; readonly config: AudioDecoderConfig; readonly packets: readonly EncodedPacket[] };

/** The sound tracks of a file with all their packets. */
export async function tracks(file: Buffer): Promise<readonly Track[]> {
  const input = new Input({ source: new BufferSource(file), formats: [WEBM, MP4] });
  return Promise.all((await input.getAudioTracks()).map(async (track) => {
    const packets: EncodedPacket[] = [];
    for await (const packet of new EncodedPacketSink(track).packets()) packets.push(packet);
    const [codec, config] = [await track.getCodec(), await track.getDecoderConfig()];
    if (!codec || !config) throw new Error("no codec");
    return { codec, config, packets };
  }));
}

/** A file with these tracks, and one of a film when asked. */
export async function made(container: "webm" | "mp4", some: readonly Track[], { hasVideo = false } = {}): Promise<Buffer> {
  const target = new BufferTarget();
  const output = new Output({ format: container === "webm" ? new WebMOutputFormat() : new Mp4OutputFormat(), target });
  const sources = some.map(({ codec }) => new EncodedAudioPacketSource(codec));
  for (const source of sources) output.addAudioTrack(source);
  const film = hasVideo ? new EncodedVideoPacketSource("vp8") : null;
  if (film) output.addVideoTrack(film);
  await output.start();
  await film?.add(new EncodedPacket(Buffer.alloc(50), "key", 0, 1), { decoderConfig: { codec: "vp8", codedWidth: 64, codedHeight: 64 } });
  film?.close();
  for (const [at, { config, packets }] of some.entries()) {
    for (const packet of packets) await sources[at]?.add(packet, { decoderConfig: config });
    sources[at]?.close();
  }
  await output.finalize();
  if (!target.buffer) throw new Error("nothing was made");
  return Buffer.from(target.buffer);
}

/** A note of so many 20 ms packets of the tone, laid `step` seconds apart. */
export async function repeated(container: "webm" | "mp4", count: number, step = 0.02): Promise<Buffer> {
  const [track] = await tracks(toneWebm());
  const [packet] = track?.packets.slice(5) ?? [];
  if (!track || !packet) throw new Error("no packet");
  return made(container, [{ ...track, packets: Array.from({ length: count }, (_, at) => packet.clone({ timestamp: at * step, duration: 0.02 })) }]);
}
