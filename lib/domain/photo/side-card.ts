import { isCardNumber } from "@/lib/domain/photo/card-number";
import { homographyOf, stepsAt, turnOf, UNIT_SQUARE, type Point, type Quad } from "@/lib/domain/photo/homography";

/** Modules a side of the card's code, without its quiet zone. */
export const CARD_MODULES = 21;

/** A code as the reader found it in the upright photo. */
export type FoundCode = {
  readonly text: string;
  readonly mirrored: boolean;
  /** Pixels; the printed code's own top left, top right, bottom right and bottom left. */
  readonly corners: Quad;
};

export type QuarterTurn = 0 | 90 | 180 | 270;

/** What a side card says of one photo. All but `mirrored` is said of the kept picture. */
export type SideCardReading = {
  readonly number: string;
  /** The picture as it came was mirror-reversed. */
  readonly mirrored: boolean;
  /** The printed code's corners, as fractions of the kept picture, in its own order. */
  readonly corners: Quad;
  /** Degrees clockwise by which the picture must be turned for the card to stand upright. */
  readonly turnToUpright: QuarterTurn;
  /**
   * How far the card's horizontal is turned clockwise from the picture's nearest edge, in degrees, to a
   * tenth: the camera's roll. Null when the card is too small or too far turned to be trusted.
   */
  readonly levelDegrees: number | null;
  /** Mean side of one module in the picture that was read, pixels. */
  readonly modulePixels: number;
};

/** `several`: more than one code of ours, or one and its reflection. Which of them to believe is not guessed. */
export type CardFinding = { readonly found: "one"; readonly reading: SideCardReading } | { readonly found: "several" };

/** Whose the card in a picture is. Another child's is said to be just that: never whose. */
export type CardOwner = "this-child" | "other-child" | "unknown";

/** What a screen may know of the card in one photo; it never holds a number. */
export type CardSaid =
  | { readonly found: "several" }
  | { readonly found: "one"; readonly owner: CardOwner; readonly turnToUpright: QuarterTurn; readonly levelDegrees: number | null };

/**
 * When a level is trusted. The card's horizontal edges, its upright edges and the vanishing point of those
 * edges (about the picture's middle, so a cropped picture is caught) each give the camera's roll, and each
 * errs in its own way: the first where the card is turned about its vertical, the second where the camera
 * looks up or down, the third where the corners are blurred. Their mean is given when all three lie this
 * close together. No source: of random cameras (card turned up to 40°, camera up or down up to 25°,
 * corners found 0.3 pixels amiss) nine in ten levels given are then within 3.5° and 99 in 100 within 6°;
 * a part is kept in `tests/domain/side-card.test.ts`.
 */
const MAX_APART = 3;
/**
 * Turned further from the camera than this, degrees, the fourth corner, which has no pattern of its own in
 * the smallest code, is guessed amiss by the reader, and all three can err together: one card at 50° of 320
 * in real photos gave 18° of error without this limit, at most 4.1° with it.
 */
const MAX_AWAY = 30;
/** Smaller modules put the vanishing point anywhere. */
const MIN_LEVEL_MODULE = 5;

/** What the codes found in a photo of this size (pixels, upright) say. Null without a card of ours. */
export function readSideCard(codes: readonly FoundCode[], size: { readonly width: number; readonly height: number }): CardFinding | null {
  const ours = codes.filter((code) => isCardNumber(code.text) && isWhole(code));
  const [first] = ours;
  if (!first) return null;
  if (ours.some((code) => !isSameCode(code, first))) return { found: "several" };
  // A mirrored picture is kept flipped, so its card is described as it then stands.
  const corners = first.mirrored ? each(first.corners, ({ x, y }) => ({ x: size.width - x, y })) : first.corners;
  const stands = standing(corners, { x: size.width / 2, y: size.height / 2 });
  if (!stands) return null;
  const reading = {
    number: first.text, mirrored: first.mirrored,
    corners: each(corners, ({ x, y }) => ({ x: within(x / size.width), y: within(y / size.height) })), ...stands,
  };
  return { found: "one", reading };
}

/** The same reading after the kept picture was turned by hand: quarter turns clockwise. */
export function turnFinding(finding: CardFinding, quarterTurns: 1 | 2 | 3): CardFinding {
  if (finding.found === "several") return finding;
  const { corners, turnToUpright } = finding.reading;
  let turned = corners;
  for (let quarter = 0; quarter < quarterTurns; quarter += 1) turned = each(turned, ({ x, y }) => ({ x: 1 - y, y: x }));
  return { found: "one", reading: { ...finding.reading, corners: turned, turnToUpright: quarterOf(turnToUpright - 90 * quarterTurns) } };
}

/** The same reading after the kept picture was flipped, left for right. */
export function flipFinding(finding: CardFinding): CardFinding {
  if (finding.found === "several") return finding;
  const { corners, turnToUpright, levelDegrees } = finding.reading;
  return {
    found: "one",
    reading: {
      ...finding.reading, corners: each(corners, ({ x, y }) => ({ x: 1 - x, y })), turnToUpright: quarterOf(-turnToUpright),
      levelDegrees: levelDegrees === null || levelDegrees === 0 ? levelDegrees : -levelDegrees,
    },
  };
}

function standing(corners: Quad, middle: Point): Pick<SideCardReading, "turnToUpright" | "levelDegrees" | "modulePixels"> | null {
  const map = homographyOf(UNIT_SQUARE, corners);
  if (!map) return null;
  const { alongX, alongY } = stepsAt(map, { x: 0.5, y: 0.5 });
  const across = degreesOf(alongX);
  // Verticals turned back by a right angle: where the horizontal would point.
  const down = degreesOf({ x: alongY.y, y: -alongY.x });
  const vanishing = degreesOf({ x: map[4] - middle.y * map[7], y: middle.x * map[7] - map[1] });
  const roll = across + nearest(down - across, 360) / 2;
  const apart = Math.max(...[down - across, vanishing - across, vanishing - down].map((angle) => Math.abs(nearest(angle, 360))));
  const area = Math.abs(turnOf(corners[0], corners[1], corners[2])) / 2 + Math.abs(turnOf(corners[2], corners[3], corners[0])) / 2;
  const modulePixels = Math.sqrt(area) / CARD_MODULES;
  return {
    turnToUpright: quarterOf(-90 * Math.round(roll / 90)),
    levelDegrees: apart <= MAX_APART && awayDegrees(alongX, alongY) <= MAX_AWAY && modulePixels >= MIN_LEVEL_MODULE ? rounded(nearest(roll, 90), 10) : null,
    modulePixels: rounded(modulePixels, 100),
  };
}

/** How far the card's plane is turned from the picture's, seen from far: the square's shorter axis is its cosine. */
function awayDegrees(a: Point, b: Point): number {
  const [sum, product] = [a.x * a.x + a.y * a.y + b.x * b.x + b.y * b.y, a.x * b.y - a.y * b.x];
  const spread = Math.sqrt(Math.max(0, sum * sum - 4 * product * product));
  return (Math.acos(Math.min(1, Math.sqrt((sum - spread) / (sum + spread)))) * 180) / Math.PI;
}

/** Four corners of a figure without a dent, that run clockwise unless the code is mirrored. */
function isWhole({ corners: [p, q, r, s], mirrored }: FoundCode): boolean {
  const turns = [turnOf(p, q, r), turnOf(q, r, s), turnOf(r, s, p), turnOf(s, p, q)];
  return turns.every((turn) => (mirrored ? turn < 0 : turn > 0));
}

/** The reader may report one code twice; its corners then lie within the code itself. */
function isSameCode(one: FoundCode, other: FoundCode): boolean {
  const [at, there] = [centre(one.corners), centre(other.corners)];
  const side = Math.sqrt(Math.abs(turnOf(one.corners[0], one.corners[1], one.corners[2])));
  return one.text === other.text && one.mirrored === other.mirrored && Math.hypot(at.x - there.x, at.y - there.y) < side / 4;
}

const each = ([p, q, r, s]: Quad, change: (point: Point) => Point): Quad => [change(p), change(q), change(r), change(s)];
const centre = ([p, q, r, s]: Quad): Point => ({ x: (p.x + q.x + r.x + s.x) / 4, y: (p.y + q.y + r.y + s.y) / 4 });
const within = (value: number): number => Math.min(1, Math.max(0, value));
const degreesOf = ({ x, y }: Point): number => (Math.atan2(y, x) * 180) / Math.PI;
const nearest = (angle: number, period: number): number => angle - period * Math.round(angle / period);
const rounded = (value: number, parts: number): number => Math.round(value * parts) / parts || 0;

function quarterOf(angle: number): QuarterTurn {
  const turn = ((angle % 360) + 360) % 360;
  return turn === 90 || turn === 180 || turn === 270 ? turn : 0;
}
