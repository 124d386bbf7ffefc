import { measurePhoto, type MeasuredPhoto } from "@/lib/domain/photo/advice";
import { bareJpeg } from "@/lib/domain/photo/bare-jpeg";
import { COVER_COLOUR, coverPixels, type Cover, type QuarterTurns } from "@/lib/domain/photo/cover";
import { exifFacts, type ExifFacts } from "@/lib/domain/photo/exif-facts";
import { fitWithin, halvingSteps, SENT_SIDE, SENT_SIDE_FOR_CARD, sentSide } from "@/lib/domain/photo/fit";
import { greyOf, MEASURED_SIDE, type GreyImage } from "@/lib/domain/photo/grey";
import type { Size } from "@/lib/domain/photo/orientation";
import { readSideCard, type CardFinding, type FoundCode } from "@/lib/domain/photo/side-card";
import { sniff } from "@/lib/domain/photo/sniff";

/** Whether a worker has one or the page makes one: both draw alike. */
type Canvas = OffscreenCanvas | HTMLCanvasElement;
export type ReadCodes = (picture: GreyImage) => Promise<readonly FoundCode[]>;

/** What is known of a photo that this browser could open. */
export type Opened = {
  /** Pixels of the whole photo, upright. */
  readonly size: Size;
  /** As on the server; its card's corners are those of the picture flipped back where it is mirrored. */
  readonly card: CardFinding | null;
  readonly measures: MeasuredPhoto;
  readonly facts: ExifFacts;
};

const QUALITY = 0.85;

/**
 * Opens a photo, upright and in sRGB, as large as it will be sent, and says what is in it. Null when this
 * browser cannot, or when the server refuses the kind anyway: then the original goes up and the server
 * does, or says, all this.
 */
export async function openPhoto(file: Blob, readCodes: ReadCodes): Promise<{ readonly opened: Opened; readonly base: Canvas } | null> {
  const bytes = new Uint8Array(await file.arrayBuffer());
  const sniffed = sniff(bytes);
  if ((!sniffed.accepted && sniffed.kind !== "avif") || !drawsTruly()) return null;
  const facts = exifFacts(bytes);
  const bitmap = await createImageBitmap(file, { imageOrientation: "from-image" }).catch(() => null);
  if (!bitmap) return null;
  const size = { width: bitmap.width, height: bitmap.height };
  const shrunk = drawnWithin(bitmap, size, SENT_SIDE);
  const first = await seen(shrunk, readCodes);
  const isLarger = Math.max(size.width, size.height) > SENT_SIDE;
  const large = isLarger && (first.codes.length === 0 || sentSide(first.card, SENT_SIDE) > SENT_SIDE) ? drawnWithin(bitmap, size, SENT_SIDE_FOR_CARD) : null;
  bitmap.close();
  const second = large && first.codes.length === 0 ? await seen(large, readCodes) : first;
  const base = large && sentSide(second.card, second.side) > SENT_SIDE ? large : shrunk;
  const measures = measurePhoto({ ...pixelsOf(drawnWithin(shrunk, shrunk, MEASURED_SIDE)), channels: 4 });
  return { opened: { size, card: second.card, measures, facts }, base };
}

/** The JPEG that leaves the phone: turned clockwise, covered parts painted over, no metadata of any kind. */
export async function renderPhoto(base: Canvas, turns: QuarterTurns, covers: readonly Cover[]): Promise<Uint8Array<ArrayBuffer>> {
  const size = turns % 2 === 1 ? { width: base.height, height: base.width } : { width: base.width, height: base.height };
  const canvas = canvasOf(size);
  const pen = penOf(canvas);
  pen.translate(size.width / 2, size.height / 2);
  pen.rotate((turns * Math.PI) / 2);
  pen.drawImage(base, -base.width / 2, -base.height / 2);
  pen.resetTransform();
  pen.fillStyle = COVER_COLOUR;
  for (const cover of covers) {
    const { x, y, width, height } = coverPixels(cover, size);
    pen.fillRect(x, y, width, height);
  }
  return new Uint8Array(bareJpeg(new Uint8Array(await (await jpegOf(canvas)).arrayBuffer())));
}

async function seen(canvas: Canvas, readCodes: ReadCodes): Promise<{ readonly codes: readonly FoundCode[]; readonly card: CardFinding | null; readonly side: number }> {
  const codes = await readCodes(greyOf({ ...pixelsOf(canvas), channels: 4 }));
  return { codes, card: readSideCard(codes, canvas), side: Math.max(canvas.width, canvas.height) };
}

function drawnWithin(source: CanvasImageSource, from: Size, side: number): Canvas {
  const step = (picture: CanvasImageSource, { width, height }: Size): Canvas => {
    const canvas = canvasOf({ width, height });
    const pen = penOf(canvas);
    // What was transparent is white, as on the server.
    pen.fillStyle = "#fff";
    pen.fillRect(0, 0, width, height);
    pen.imageSmoothingQuality = "high";
    pen.drawImage(picture, 0, 0, width, height);
    return canvas;
  };
  const [first, ...rest] = halvingSteps(from, fitWithin(from, side));
  let drawn = step(source, first ?? from);
  for (const size of rest) drawn = step(drawn, size);
  return drawn;
}

function canvasOf({ width, height }: Size): Canvas {
  if (typeof OffscreenCanvas === "function") return new OffscreenCanvas(width, height);
  return Object.assign(document.createElement("canvas"), { width, height });
}

function penOf(canvas: Canvas): OffscreenCanvasRenderingContext2D | CanvasRenderingContext2D {
  // Asked of each kind by itself: their calls differ in type alone.
  const pen = "convertToBlob" in canvas ? canvas.getContext("2d") : canvas.getContext("2d");
  if (!pen) throw new Error("no canvas here");
  return pen;
}

const pixelsOf = (canvas: Canvas): { readonly width: number; readonly height: number; readonly pixels: Uint8ClampedArray } => {
  const { data: pixels, width, height } = penOf(canvas).getImageData(0, 0, canvas.width, canvas.height);
  return { width, height, pixels };
};

function jpegOf(canvas: Canvas): Promise<Blob> {
  if ("convertToBlob" in canvas) return canvas.convertToBlob({ type: "image/jpeg", quality: QUALITY });
  return new Promise((resolve, reject) => {
    canvas.toBlob((blob) => (blob ? resolve(blob) : reject(new Error("not encoded"))), "image/jpeg", QUALITY);
  });
}

/** Browsers set against tracking give back other pixels than were drawn; such a photo would be noise. */
function drawsTruly(): boolean {
  const canvas = canvasOf({ width: 8, height: 8 });
  const pen = penOf(canvas);
  for (let at = 0; at < 8; at += 1) {
    pen.fillStyle = `rgb(${at * 30}, ${255 - at * 30}, ${at * 15})`;
    pen.fillRect(at, 0, 1, 8);
  }
  const { pixels } = pixelsOf(canvas);
  return [0, 3, 7].every((at) => [at * 30, 255 - at * 30, at * 15].every((value, channel) => Math.abs((pixels[(4 * 8 + at) * 4 + channel] ?? -9) - value) <= 2));
}
