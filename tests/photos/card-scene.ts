import { create } from "qrcode";
import sharp from "sharp";
import { cardNumber } from "@/lib/domain/photo/card-number";
import { homographyOf, mapPoint, type Point, type Quad } from "@/lib/domain/photo/homography";
import type { Pixels } from "@/tests/photos/pixels";

/** The printed face in millimetres about the code's middle; the code is 120 wide, as on the page. */
const FACE = { left: -90, top: -105, right: 90, bottom: 90 };
const HALF = 60;
const RAYS = 3;

/** Reproducible numbers from 0 up to 1. */
export function randomFrom(seed: number): () => number {
  let state = Math.imul(seed, 2_654_435_761) >>> 0;
  const next = () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
  for (let skip = 0; skip < 5; skip += 1) next();
  return next;
}

export const numberFrom = (random: () => number): string => cardNumber(Uint8Array.from({ length: 12 }, () => Math.floor(random() * 256)));

export type Placed = {
  readonly text: string;
  /** Mean side of a module in the picture, pixels, perspective included. */
  readonly modulePixels: number;
  /** Where the code's middle stands, fractions of the upright picture. */
  readonly at: Point;
  /** Degrees: the camera's roll; the card turned about its vertical; the camera looking down on it. */
  readonly roll: number;
  readonly yaw: number;
  readonly pitch: number;
  /** Standard deviation of the blur, in modules. */
  readonly blur: number;
  /** Share of the light that paper and ink give back. */
  readonly paper: number;
  readonly ink: number;
};

/** The corners of the printed code in the picture, by a pinhole camera whose focal length is the picture's width. */
export function cornersOf(card: Placed, { width, height }: { readonly width: number; readonly height: number }): Quad {
  let half = (card.modulePixels * 21) / 2 / width;
  let quad = project(card, width, height, half, HALF);
  for (let round = 0; round < 4; round += 1) {
    half *= (card.modulePixels * 21) / Math.sqrt(areaOf(quad));
    quad = project(card, width, height, half, HALF);
  }
  return quad;
}

function project({ at, roll, yaw, pitch }: Placed, width: number, height: number, half: number, reach: number): Quad {
  const rad = Math.PI / 180;
  const turn = ([x = 0, y = 0, z = 0]: readonly number[]): readonly [number, number, number] => {
    const [down, deep] = [y * Math.cos(pitch * rad) - z * Math.sin(pitch * rad), y * Math.sin(pitch * rad) + z * Math.cos(pitch * rad)];
    return [x * Math.cos(roll * rad) - down * Math.sin(roll * rad), x * Math.sin(roll * rad) + down * Math.cos(roll * rad), deep];
  };
  const across = turn([Math.cos(yaw * rad), 0, Math.sin(yaw * rad)]);
  const along = turn([0, 1, 0]);
  const middle = [at.x - 0.5, ((at.y - 0.5) * height) / width, 1] as const;
  const corner = (u: number, v: number): Point => {
    const [x, y, z] = [0, 1, 2].map((axis) => (middle[axis] ?? 0) + (half * reach / HALF) * (u * (across[axis] ?? 0) + v * (along[axis] ?? 0)));
    return { x: width / 2 + (width * (x ?? 0)) / (z ?? 1), y: height / 2 + (width * (y ?? 0)) / (z ?? 1) };
  };
  return [corner(-1, -1), corner(1, -1), corner(1, 1), corner(-1, 1)];
}

export const areaOf = (quad: Quad): number =>
  Math.abs(quad.reduce((sum, { x, y }, at) => {
    const next = quad[(at + 1) % 4] ?? { x: 0, y: 0 };
    return sum + x * next.y - next.x * y;
  }, 0)) / 2;

/** The photo with the card standing in it: every pixel is the mean of nine rays through the pinhole. */
export async function placeCard(photo: Pixels, card: Placed): Promise<Pixels> {
  const { data: modules, size } = create(card.text, { errorCorrectionLevel: "Q" }).modules;
  const corners = cornersOf(card, photo);
  const millimetres: Quad = [{ x: -HALF, y: -HALF }, { x: HALF, y: -HALF }, { x: HALF, y: HALF }, { x: -HALF, y: HALF }];
  const [toFace, toPhoto] = [homographyOf(corners, millimetres), homographyOf(millimetres, corners)];
  if (!toFace || !toPhoto) throw new Error("the card is seen from its edge");
  const outline = [[FACE.left, FACE.top], [FACE.right, FACE.top], [FACE.right, FACE.bottom], [FACE.left, FACE.bottom]]
    .map(([x = 0, y = 0]) => mapPoint(toPhoto, { x, y }));
  const margin = Math.ceil(card.blur * card.modulePixels * 3) + 1;
  const left = Math.max(0, Math.floor(Math.min(...outline.map(({ x }) => x))) - margin);
  const top = Math.max(0, Math.floor(Math.min(...outline.map(({ y }) => y))) - margin);
  const width = Math.min(photo.width, Math.ceil(Math.max(...outline.map(({ x }) => x))) + margin) - left;
  const height = Math.min(photo.height, Math.ceil(Math.max(...outline.map(({ y }) => y))) + margin) - top;
  const patch = Buffer.alloc(width * height * 4);
  for (let y = 0; y < height; y += 1) {
    for (let x = 0; x < width; x += 1) {
      let [light, covered] = [0, 0];
      for (let ray = 0; ray < RAYS * RAYS; ray += 1) {
        const face = mapPoint(toFace, { x: left + x + ((ray % RAYS) + 0.5) / RAYS, y: top + y + (Math.floor(ray / RAYS) + 0.5) / RAYS });
        if (face.x < FACE.left || face.x > FACE.right || face.y < FACE.top || face.y > FACE.bottom) continue;
        covered += 1;
        light += isInk(face, modules, size) ? card.ink : card.paper;
      }
      const at = (y * width + x) * 4;
      patch.fill(covered === 0 ? 0 : Math.round((light / covered) * 255), at, at + 3);
      patch[at + 3] = Math.round((covered / RAYS ** 2) * 255);
    }
  }
  const sigma = card.blur * card.modulePixels;
  const raw = { width, height, channels: 4 as const };
  const sharpOnes = sharp(patch, { raw });
  const input = await (sigma >= 0.3 ? sharpOnes.blur(sigma) : sharpOnes).raw().toBuffer();
  const data = await sharp(photo.data, { raw: { width: photo.width, height: photo.height, channels: 3 } })
    .composite([{ input, raw, left, top }]).removeAlpha().raw().toBuffer();
  return { ...photo, data };
}

/** The code itself and, above it, the triangle that points up. */
function isInk({ x, y }: Point, modules: Uint8Array, size: number): boolean {
  if (Math.abs(x) < HALF && Math.abs(y) < HALF) {
    const [column, row] = [x, y].map((value) => Math.min(size - 1, Math.floor(((value + HALF) / (2 * HALF)) * size)));
    return modules[(row ?? 0) * size + (column ?? 0)] === 1;
  }
  return y < -85 && y > -103 && Math.abs(x) < (y + 103) * 0.6;
}

/** Encoded as a camera would; `mirrored` as one that flips what it takes. */
export function asPhoto({ data, width, height }: Pixels, { quality, mirrored }: { readonly quality: number; readonly mirrored: boolean }): Promise<Buffer> {
  const picture = sharp(data, { raw: { width, height, channels: 3 } });
  return (mirrored ? picture.flop() : picture).jpeg({ quality }).toBuffer();
}
