import sharp from "sharp";
import type { CardFinding } from "@/lib/domain/photo/side-card";
import type { DecoderPool } from "@/lib/photos/decoder-pool";
import { takeIn } from "@/lib/photos/intake";
import { asPhoto, numberFrom, placeCard, randomFrom, type Placed } from "@/tests/photos/card-scene";
import { meanDifference, pixelsOf, type Pixels } from "@/tests/photos/pixels";
import { registryPhoto } from "@/tests/photos/sources";

/** Real photos of registry packages, and the longest side each is used at. */
const PHOTOS = [
  ["exif/test/sony-alpha-6000.jpg", 2048], ["exif/test/short-ascii-II.jpg", 2048], ["jpeg-exif/test/IMG_0001.JPG", 2448],
  ["exif-parser/test/starfish.jpg", 1278], ["exif-js/example/Bloated-Hero.jpg", 1024], ["exif/test/short-ascii-II.jpg", 3600],
] as const;
export const MODULE_SIZES = [1.5, 2, 2.5, 3, 4, 5, 6, 8] as const;

const kept = new Map<string, Promise<Pixels>>();

function decoded(path: string, side: number): Promise<Pixels> {
  const key = `${path} ${side}`;
  const there = kept.get(key) ?? sharp(registryPhoto(path)).autoOrient().resize({ width: side, height: side, fit: "inside" }).jpeg({ quality: 100 }).toBuffer().then((jpeg) => pixelsOf(jpeg));
  kept.set(key, there);
  return there;
}

export type Trial = {
  readonly modulePixels: number;
  readonly tilt: number;
  readonly blur: number;
  readonly quality: number;
  readonly mirrored: boolean;
  readonly outcome: "found" | "missed" | "wrong mirror" | "wrong number" | "wrong way up" | "kept mirrored";
  /** Level given against the roll, degrees; null when none was given. */
  readonly levelError: number | null;
};

/** Not more than this is called moderate: a card put up with care and a photo the app would not warn about. */
export const isModerate = ({ tilt, blur, quality }: Trial): boolean => tilt <= 30 && blur <= 0.3 && quality >= 70;

/** Puts a card into a real photo and takes the photo in as a family would send it. The same seed gives the same case. */
export async function tryCard(seed: number, pool: DecoderPool): Promise<Trial> {
  const random = randomFrom(seed);
  const pick = <T>(from: readonly T[]): T => from[Math.floor(random() * from.length)] as T; // an index within it
  const modulePixels = MODULE_SIZES[seed % MODULE_SIZES.length] ?? 3;
  const [path, side] = pick(PHOTOS);
  const photo = await decoded(path, side);
  // Sizes are meant in the picture as it is looked at first, at 2048 pixels.
  const scale = Math.max(1, side / 2048);
  const [tilt, quarter] = [pick([0, 10, 20, 30, 40, 50]), pick([0, 0, 0, 90, 180, 270])];
  const lean = random() * Math.PI * 2;
  const paper = 0.55 + random() * 0.4;
  const card: Placed = {
    text: numberFrom(random), modulePixels: modulePixels * scale, at: placeIn(photo, modulePixels * scale, random),
    roll: quarter + (random() * 2 - 1) * 15, yaw: tilt * Math.cos(lean), pitch: tilt * Math.sin(lean),
    blur: pick([0, 0.15, 0.3, 0.3, 0.45]), paper, ink: 0.04 + random() * paper * 0.25,
  };
  const how = { quality: pick([50, 70, 80, 90, 95]), mirrored: random() < 0.5 };
  const truth = await placeCard(photo, card);
  const taken = await takeIn(await asPhoto(truth, how), {}, pool);
  if (!taken.ok) throw new Error(taken.problem.code);
  const reading = taken.value.card?.found === "one" ? taken.value.card.reading : null;
  const roll = ((card.roll % 360) + 540) % 360 - 180;
  return {
    modulePixels, tilt, blur: card.blur, ...how,
    outcome: await outcomeOf(taken.value.card, card.text, roll, how.mirrored, truth, taken.value.sizes[2].bytes),
    levelError: reading?.levelDegrees == null ? null : Math.abs(nearest(reading.levelDegrees - roll, 90)),
  };
}

/** One case a seed, two at a time: as many as there are decoders. */
export async function tryCards(seeds: readonly number[], pool: DecoderPool): Promise<readonly Trial[]> {
  const [left, trials] = [[...seeds], [] as Trial[]];
  const lane = async () => {
    for (let seed = left.shift(); seed !== undefined; seed = left.shift()) trials.push(await tryCard(seed, pool));
  };
  await Promise.all([lane(), lane()]);
  return trials;
}

async function outcomeOf(card: CardFinding | null, text: string, roll: number, mirrored: boolean, truth: Pixels, picture: Buffer): Promise<Trial["outcome"]> {
  if (card?.found !== "one") return "missed";
  if (card.reading.number !== text) return "wrong number";
  if (card.reading.mirrored !== mirrored) return "wrong mirror";
  if (Math.abs(nearest(roll + card.reading.turnToUpright, 360)) > 45) return "wrong way up";
  // The kept picture against the picture as it truly was: no code is asked for this.
  const [here, flipped] = await Promise.all([false, true].map(async (isFlipped) => {
    const { width, height } = await sharp(picture).metadata();
    const raw = sharp(truth.data, { raw: { width: truth.width, height: truth.height, channels: 3 } });
    const small = await (isFlipped ? raw.flop() : raw).resize(width, height, { fit: "fill" }).jpeg({ quality: 100 }).toBuffer();
    return meanDifference(await pixelsOf(picture), await pixelsOf(small));
  }));
  return (here ?? 0) < (flipped ?? 0) ? "found" : "kept mirrored";
}

/** Anywhere in the picture where the whole face has room, even turned. */
function placeIn({ width, height }: Pixels, modulePixels: number, random: () => number) {
  const reach = modulePixels * 21 * 1.35;
  const along = (side: number) => Math.min(0.5, reach / side) + random() * Math.max(0, 1 - 2 * Math.min(0.5, reach / side));
  return { x: along(width), y: along(height) };
}

const nearest = (angle: number, period: number): number => angle - period * Math.round(angle / period);
