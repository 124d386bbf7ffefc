import { BufferSource, BufferTarget, Conversion, getFirstEncodableVideoCodec, Input, MP4, Mp4OutputFormat, Output, Quality, VideoSampleSink, WEBM, WebMOutputFormat, type InputVideoTrack } from "mediabunny";
import type { ClipContainer } from "@/lib/domain/clip/limits";
import { COVER_COLOUR, coverPixels, evenWithin, isHidden, type Cover } from "@/lib/domain/photo/cover";
import type { Size } from "@/lib/domain/photo/orientation";

/** Larger films are written anew in this size: a phone would need minutes, and no more is looked at. */
const MOST_SIDE = 1920;
/** Those that intake takes; the first one plays everywhere. */
const CODECS = ["avc", "vp9", "vp8"] as const;
const QUALITY = new Quality("high");
/** A second between two frames that stand for themselves, so that one frame back is quick. */
const KEY_EVERY_S = 1;

const opened = (kind: ClipContainer, bytes: Uint8Array): Input => new Input({ source: new BufferSource(bytes), formats: [kind === "mp4" ? MP4 : WEBM] });

async function filmIn(input: Input): Promise<InputVideoTrack> {
  const track = await input.getPrimaryVideoTrack();
  if (!track) throw new Error("no film");
  return track;
}

const sizeOf = async (track: InputVideoTrack): Promise<Size> =>
  evenWithin({ width: await track.getDisplayWidth(), height: await track.getDisplayHeight() }, MOST_SIDE);

const codecFor = (size: Size) => getFirstEncodableVideoCodec([...CODECS], { ...size, quality: QUALITY });

/** Whether this browser can draw and write such a film anew. One that asks to be shown mirrored is left as it is: what says so would be lost. */
export async function mayCover(kind: ClipContainer, bytes: Uint8Array): Promise<boolean> {
  if (typeof VideoEncoder !== "function" || typeof VideoDecoder !== "function" || typeof OffscreenCanvas !== "function") return false;
  try {
    const track = await filmIn(opened(kind, bytes));
    return !(await track.getFlip()) && await track.canDecode() && await codecFor(await sizeOf(track)) !== null;
  } catch {
    return false;
  }
}

/**
 * The film drawn frame by frame, upright, with these parts painted over before a frame is written: nothing of what was there is in
 * what comes out. Rejects where it cannot be made, or where what was made does not show every cover.
 */
export async function coveredClip(kind: ClipContainer, bytes: Uint8Array, covers: readonly Cover[], progress: (share: number) => void): Promise<{ readonly kind: ClipContainer; readonly bytes: Uint8Array }> {
  const input = opened(kind, bytes);
  const track = await filmIn(input);
  const size = await sizeOf(track);
  const codec = await codecFor(size);
  if (!codec) throw new Error("cannot be written here");
  const made: ClipContainer = codec === "avc" ? "mp4" : "webm";
  const target = new BufferTarget();
  const output = new Output({ format: made === "mp4" ? new Mp4OutputFormat({ fastStart: "in-memory" }) : new WebMOutputFormat(), target });
  const { canvas, pen } = paper(size);
  const conversion = await Conversion.init({
    input, output, tags: {}, showWarnings: false, audio: { discard: true },
    video: {
      ...size, fit: "fill", codec, quality: QUALITY, keyFrameInterval: KEY_EVERY_S, forceTranscode: true, allowTransformationMetadata: false,
      process: (frame) => {
        frame.draw(pen, 0, 0, size.width, size.height);
        pen.fillStyle = COVER_COLOUR;
        for (const cover of covers) {
          const { x, y, width, height } = coverPixels(cover, size);
          pen.fillRect(x, y, width, height);
        }
        return canvas;
      },
    },
  });
  if (!conversion.isValid) throw new Error("cannot be written here");
  conversion.onProgress = progress;
  await conversion.execute();
  if (!target.buffer) throw new Error("nothing was made");
  const written = new Uint8Array(target.buffer);
  if (!await showsCovers(made, written, covers)) throw new Error("not covered");
  return { kind: made, bytes: written };
}

/** What was written, decoded again at its beginning, middle and end: nobody is told that a part is covered before it was seen to be. */
async function showsCovers(kind: ClipContainer, bytes: Uint8Array, covers: readonly Cover[]): Promise<boolean> {
  const track = await filmIn(opened(kind, bytes));
  const last = await track.computeDuration();
  const first = await track.getFirstTimestamp();
  let seen = 0;
  for await (const frame of new VideoSampleSink(track).samplesAtTimestamps([first, (first + last) / 2, last])) {
    if (!frame) continue;
    const size = { width: frame.displayWidth, height: frame.displayHeight };
    const { pen } = paper(size);
    frame.draw(pen, 0, 0);
    frame.close();
    const { data } = pen.getImageData(0, 0, size.width, size.height);
    if (!covers.every((cover) => isHidden(cover, size, data))) return false;
    seen += 1;
  }
  return seen > 0;
}

function paper({ width, height }: Size): { readonly canvas: OffscreenCanvas; readonly pen: OffscreenCanvasRenderingContext2D } {
  const canvas = new OffscreenCanvas(width, height);
  const pen = canvas.getContext("2d", { alpha: false });
  if (!pen) throw new Error("no canvas here");
  return { canvas, pen };
}
