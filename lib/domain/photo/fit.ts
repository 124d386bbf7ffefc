import type { Size } from "@/lib/domain/photo/orientation";
import type { CardFinding } from "@/lib/domain/photo/side-card";

/** Longest side, pixels, of a photo as it leaves the phone. */
export const SENT_SIDE = 2048;
/** Longest side where the side card would be too small otherwise. */
export const SENT_SIDE_FOR_CARD = 4096;
/** Modules of the card's code below this many pixels are not read surely; two is the reader's own edge in our trials. */
const SAFE_MODULE_PIXELS = 3;

/** As large as fits a square of this side; never enlarged. Whole pixels. */
export function fitWithin({ width, height }: Size, side: number): Size {
  const scale = Math.min(1, side / Math.max(width, height));
  return { width: Math.max(1, Math.round(width * scale)), height: Math.max(1, Math.round(height * scale)) };
}

/** The sizes a picture goes through on its way down: by halves, so that every pixel counts, then the last step. */
export function halvingSteps(from: Size, to: Size): readonly Size[] {
  const steps: Size[] = [];
  for (let at = from; at.width >= to.width * 2 && at.height >= to.height * 2;) {
    at = { width: Math.ceil(at.width / 2), height: Math.ceil(at.height / 2) };
    steps.push(at);
  }
  const last = steps.at(-1);
  return last?.width === to.width && last.height === to.height ? steps : [...steps, to];
}

/** How large to send a photo whose card was found in a picture of `readSide` pixels on its longest side. */
export function sentSide(card: CardFinding | null, readSide: number): number {
  if (card?.found !== "one") return SENT_SIDE;
  const kept = card.reading.modulePixels * Math.min(1, SENT_SIDE / readSide);
  return kept < SAFE_MODULE_PIXELS ? SENT_SIDE_FOR_CARD : SENT_SIDE;
}
