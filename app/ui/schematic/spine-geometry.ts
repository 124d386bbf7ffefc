import { along, at, curve, line, outline, type Point } from "@/app/ui/schematic/geometry";
import type { Region } from "@/lib/domain/curve/region";
import type { Side } from "@/lib/domain/sides";

/** `apex` is a level as the record writes it ("T8", "T11/12"); left out while none is typed. */
export type DrawnCurve = { readonly region: Region; readonly side: Side; readonly apex?: string };

export type SpineDrawing = {
  readonly spine: string;
  readonly vertebrae: readonly { readonly name: string; readonly block: string; readonly tick: string; readonly isApex: boolean }[];
  readonly ribs: readonly string[];
  readonly pelvis: readonly string[];
  readonly back: string;
  /** One a curve: where it bulges most, and where its word and apex stand on the convex side. */
  readonly bulges: readonly Bulge[];
};
export type Bulge = { readonly side: Side; readonly apex: string | null; readonly at: Point; readonly leader: string; readonly word: Point };

/** Half width and top, height of the drawing's box. */
export const SPINE_BOX = { half: 200, top: -28, height: 440 } as const;

const NAMES = ["C7", ...Array.from({ length: 12 }, (_, index) => `T${index + 1}`), ...Array.from({ length: 5 }, (_, index) => `L${index + 1}`)];
const SACRUM = 18;

/** How far each region's curve is drawn to bulge and to reach up and down, in vertebrae. Not to scale: a sign, not a measure. */
const REGIONS: Readonly<Record<Region, { readonly middle: number; readonly bulge: number; readonly reach: number }>> = {
  "proximal-thoracic": { middle: 3, bulge: 15, reach: 2.5 },
  thoracic: { middle: 8.5, bulge: 27, reach: 4.5 },
  thoracolumbar: { middle: 12.5, bulge: 25, reach: 4.5 },
  lumbar: { middle: 14.5, bulge: 23, reach: 3.5 },
};

/**
 * Place of a vertebra or disc along the spine: C7 is 0, T1 is 1, L1 is 13; a disc lies halfway
 * ("T11/12", "T12/L1"). Null when it is neither.
 */
export function levelOf(apex: string): number | null {
  const found = /^([TL])(\d{1,2})(?:\/([TL]?)(\d{1,2}))?$/.exec(apex.trim().toUpperCase());
  if (!found) return null;
  const [, letter = "", figure = "", otherLetter, otherFigure] = found;
  const above = NAMES.indexOf(letter + figure);
  if (above === -1) return null;
  if (otherFigure === undefined) return above;
  const below = NAMES.indexOf((otherLetter || letter) + otherFigure);
  return below === above + 1 ? above + 0.5 : null;
}

/**
 * The spine of one curve record seen from behind: bulging to each curve's convex side, exactly at
 * its apex. A curve without a readable apex bulges in the middle of its region and gets no apex
 * mark. Throws a RangeError when two curves stand at one level: that is no record.
 */
export function spineDrawing(curves: readonly DrawnCurve[]): SpineDrawing {
  const placed = curves
    .map(({ region, side, apex }) => {
      const level = apex === undefined ? null : levelOf(apex);
      return { side, ...REGIONS[region], level: level ?? REGIONS[region].middle, apex: level === null ? null : (apex ?? null), isExact: level !== null };
    })
    .sort((a, b) => a.level - b.level);
  if (placed.some((one, index) => one.level === placed[index + 1]?.level)) throw new RangeError("Two curves at one level.");

  const knots = knotsOf(placed);
  const sway = (level: number) => swayAt(knots, level);
  const marked = placed.filter(({ isExact }) => isExact).map(({ level }) => level);
  return {
    spine: spinePath(knots),
    vertebrae: NAMES.map((name, level) => vertebra(name, level, sway, marked.includes(level))),
    ribs: RIB_WIDTHS.flatMap((width, index) => [-1, 1].map((way) => rib(index + 1, width, way, sway(index + 1)))),
    pelvis: PELVIS.flatMap((wing) => [-1, 1].map((way) => curve(...mirrorWing(wing, way)))).concat(SACRAL),
    back: backOutline(),
    bulges: placed.map(({ side, apex, level, bulge }) => bulgeOf(side, apex, at(along(side) * bulge, heightOf(level)))),
  };
}

type Knot = { readonly level: number; readonly x: number };
type Placed = { readonly side: Side; readonly level: number; readonly bulge: number; readonly reach: number };

/** Where the spine runs upright again or bulges most; it stands vertical at every knot. */
function knotsOf(placed: readonly Placed[]): Knot[] {
  const knots: Knot[] = [{ level: 0, x: 0 }];
  placed.forEach((one, index) => {
    const before = placed[index - 1];
    const start = one.level - one.reach;
    if (!before) {
      if (start > 0.5) knots.push({ level: start, x: 0 });
    } else {
      const end = before.level + before.reach;
      if (end + 0.5 < start) knots.push({ level: end, x: 0 }, { level: start, x: 0 });
      // Two neighbours to the same side: the spine comes back between them, or they would look like one.
      else if (before.side === one.side) knots.push({ level: (before.level + one.level) / 2, x: along(one.side) * 0.3 * Math.min(before.bulge, one.bulge) });
    }
    knots.push({ level: one.level, x: along(one.side) * one.bulge });
  });
  const last = placed.at(-1);
  if (last && last.level + last.reach < SACRUM - 0.5) knots.push({ level: last.level + last.reach, x: 0 });
  return [...knots, { level: SACRUM, x: 0 }];
}

/** Drawing height of a level; vertebrae grow downward, as in a body. */
export function heightOf(level: number): number {
  return 12 + level * 13.6 + level * level * 0.155;
}

function swayAt(knots: readonly Knot[], level: number): number {
  const next = knots.findIndex((knot) => level <= knot.level);
  const [from, to] = [knots[next - 1], knots[next]];
  if (!from || !to) return to?.x ?? 0;
  const t = (heightOf(level) - heightOf(from.level)) / (heightOf(to.level) - heightOf(from.level));
  return from.x + (to.x - from.x) * t * t * (3 - 2 * t);
}

/** The same smooth steps as cubic pieces: handles a third of the way, straight above and below. */
function spinePath(knots: readonly Knot[]): string {
  const points = knots.map(({ level, x }) => at(x, heightOf(level)));
  const [start = at(0, 0)] = points;
  return curve(
    start,
    ...points.slice(1).map((to, index): [Point, Point, Point] => {
      const from = points[index] ?? start;
      const third = (to.y - from.y) / 3;
      return [at(from.x, from.y + third), at(to.x, to.y - third), to];
    }),
  );
}

/** A block square to the spine with the tick of its spinous process, seen from behind. */
function vertebra(name: string, level: number, sway: (level: number) => number, isApex: boolean) {
  const centre = at(sway(level), heightOf(level));
  const step = 0.25;
  const [above, below] = [at(sway(Math.max(0, level - step)), heightOf(level - step)), at(sway(Math.min(SACRUM, level + step)), heightOf(level + step))];
  const long = Math.hypot(below.x - above.x, below.y - above.y);
  const down = at((below.x - above.x) / long, (below.y - above.y) / long);
  const from = (across: number, forth: number) => at(centre.x + across * down.y + forth * down.x, centre.y - across * down.x + forth * down.y);
  const [wide, high] = [7.5 + level * 0.38, 4.6 + level * 0.13];
  return {
    name,
    isApex,
    block: outline([from(-wide, -high), from(wide, -high), from(wide * 0.9, high), from(-wide * 0.9, high)]),
    tick: line([from(0, -high * 0.5), from(0, high)]),
  };
}

/** Half widths of the rib cage at T1 to T12. */
const RIB_WIDTHS = [30, 46, 56, 62, 66, 69, 71, 72, 71, 68, 52, 38] as const;

function rib(level: number, width: number, way: number, sway: number): string {
  const y = heightOf(level);
  const isFloating = level > 10;
  // The cage follows its vertebra part of the way.
  const side = way * width + sway * 0.45;
  const start = at(sway + way * (9 + level * 0.38), y);
  return isFloating
    ? curve(start, [at(start.x + way * 12, y + 1), at(side - way * 8, y + 8), at(side, y + 16)])
    : curve(start, [at(sway + way * width * 0.55, y - 7), at(side, y - 2), at(side, y + 20)]);
}

type Wing = readonly [Point, ...(readonly [Point, Point, Point])[]];
/** One hip bone from behind, the child's right; the other is its mirror image. */
const PELVIS: readonly Wing[] = [
  [at(15, 316), [at(28, 290), at(62, 284), at(74, 304)], [at(82, 322), at(66, 340), at(58, 352)], [at(52, 366), at(58, 378), at(44, 384)], [at(30, 386), at(30, 366), at(18, 356)]],
];
const SACRAL = outline([at(-16, 312), at(16, 312), at(8, 352), at(0, 366), at(-8, 352)]);

const mirrorWing = ([start, ...pieces]: Wing, way: number): Wing => {
  const turn = ({ x, y }: Point) => at(way * x, y);
  return [turn(start), ...pieces.map(([a, b, c]): [Point, Point, Point] => [turn(a), turn(b), turn(c)])];
};

/** The back's outline, only to say that this is a body and which way is up. */
function backOutline(): string {
  const half: readonly Point[] = [at(17, -26), at(17, -2), at(24, 8), at(54, 16), at(84, 22), at(98, 34), at(101, 62), at(90, 78), at(86, 130), at(80, 190), at(68, 246), at(70, 282), at(88, 322), at(95, 362), at(95, 404)];
  return [-1, 1]
    .map((way) => {
      const points = half.map(({ x, y }) => at(way * x, y));
      const [start = at(0, 0), ...rest] = points;
      return curve(start, ...rest.map((to, index): [Point, Point, Point] => {
        const from = points[index] ?? start;
        const slope = (place: number) => {
          const [a, b] = [points[place - 1] ?? points[place], points[place + 1] ?? points[place]];
          return a && b ? at((b.x - a.x) / 6, (b.y - a.y) / 6) : at(0, 0);
        };
        const [leave, arrive] = [slope(index), slope(index + 1)];
        return [at(from.x + leave.x, from.y + leave.y), at(to.x - arrive.x, to.y - arrive.y), to];
      }));
    })
    .join("");
}

function bulgeOf(side: Side, apex: string | null, spot: Point): Bulge {
  const way = along(side);
  const word = at(way * 110, spot.y);
  return { side, apex, at: spot, word, leader: line([at(spot.x + way * 13, spot.y), at(word.x - way * 5, word.y)]) };
}
