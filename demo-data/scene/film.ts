import { BufferTarget, EncodedPacket, EncodedVideoPacketSource, Output, WebMOutputFormat } from "mediabunny";
import { drawScene } from "@/demo-data/scene/scene";
import type { SceneParams } from "@/demo-data/scene/params";

/** Small and few, so that a demo is filled quickly. */
const SIZE = { width: 480, height: 360 } as const;
/** Drawn once on the way in and shown again on the way out. */
const FRAMES_A_BREATH_IN = 6;
const BREATHS = 2;
const FRAME_S = 1 / 5;
const WRITTEN = { quality: 72, effort: 1 } as const;

/**
 * Two breaths of one set-up as a WebM film of our own making: the top leg and the elbow move a little. A lossy WebP picture is a
 * VP8 key frame in a wrapper (RFC 9649, 2.5), so that the film is made of pictures by sharp, and no encoder is needed.
 */
export async function renderFilm(params: SceneParams): Promise<Buffer> {
  const breathIn = await Promise.all(Array.from({ length: FRAMES_A_BREATH_IN }, async (_, at) => {
    const picture = await drawScene({ ...params, ...breathing(params, at / (FRAMES_A_BREATH_IN - 1)), ...SIZE });
    return keyFrameIn(await picture.webp(WRITTEN).toBuffer());
  }));
  const breath = [...breathIn, ...breathIn.slice(1, -1).toReversed()];
  const frames = Array.from({ length: BREATHS }, () => breath).flat();

  const target = new BufferTarget();
  const output = new Output({ format: new WebMOutputFormat(), target });
  const source = new EncodedVideoPacketSource("vp8");
  output.addVideoTrack(source);
  await output.start();
  const decoderConfig = { codec: "vp8", codedWidth: SIZE.width, codedHeight: SIZE.height };
  for (const [at, frame] of frames.entries()) await source.add(new EncodedPacket(frame, "key", at * FRAME_S, FRAME_S), { decoderConfig });
  await output.finalize();
  if (!target.buffer) throw new Error("no film was made");
  return Buffer.from(target.buffer);
}

/** `share` of a breath in, which begins and ends softly. */
function breathing({ topLegLift = 0, elbowHeight = 1 }: SceneParams, share: number): Pick<SceneParams, "topLegLift" | "elbowHeight"> {
  const drawn = (1 - Math.cos(share * Math.PI)) / 2;
  return { topLegLift: topLegLift + 4 * drawn, elbowHeight: elbowHeight - 0.1 * (1 - drawn) };
}

/** What stands in the one `VP8 ` chunk of a simple WebP file: its length after its name, little-endian. */
function keyFrameIn(webp: Buffer): Uint8Array {
  if (webp.toString("latin1", 12, 16) !== "VP8 ") throw new Error("not a simple lossy picture");
  return webp.subarray(20, 20 + webp.readUInt32LE(16));
}
