import { along, at, curve, line, outline, type Point } from "@/app/ui/schematic/geometry";
import type { PropKind } from "@/lib/domain/setup/exercise";
import { isPossible, type SetupSides } from "@/lib/domain/setup/setup-sides";
import type { Side } from "@/lib/domain/sides";

export type SetupDrawing = {
  readonly headEnd: Side;
  readonly mat: string;
  readonly floor: string;
  readonly head: string;
  readonly strands: readonly string[];
  readonly neck: string;
  /** Trunk and the straight leg above, one outline. */
  readonly trunk: string;
  readonly topFoot: string;
  readonly spine: string;
  readonly ticks: readonly string[];
  readonly blade: string;
  readonly topArm: readonly string[];
  readonly bottomArm: readonly string[];
  readonly bottomLeg: readonly string[];
  readonly prop: readonly string[];
  /** Fans of short lines on the ribs that widen. */
  readonly breath: readonly string[];
  /** Where words begin; they run toward the feet. */
  readonly words: { readonly anchor: "start" | "end"; readonly down: Point; readonly up: Point; readonly breath: Point };
};

export const SETUP_BOX = { half: 345, top: 18, height: 296 } as const;

/**
 * The side-lying child, back to the viewer. Upright and from behind the child's left is drawing
 * left; lying down on the left side the head goes to drawing left, on the right to drawing right
 * (left = superior × anterior, anterior pointing away from the viewer, floor below).
 * Throws a RangeError when a limb or the prop is said to be on a side where it cannot be.
 */
export function setupDrawing(setup: SetupSides): SetupDrawing {
  if (!isPossible(setup)) throw new RangeError("A set-up with a limb or the prop on an impossible side cannot be drawn.");
  const isOnHip = setup.topArm.position === "on-hip";
  const way = setup.lieOn === "left" ? 1 : -1;
  // Drawn with the head at drawing left, which is lying on the left; the other way is its mirror image.
  const p = (x: number, y: number) => at(way * x, y);
  const smooth = (start: readonly [number, number], ...rest: readonly (readonly [number, number, number, number, number, number])[]) =>
    curve(p(...start), ...rest.map(([a, b, c, d, e, f]): [Point, Point, Point] => [p(a, b), p(c, d), p(e, f)]));
  const limb = (...points: readonly (readonly [number, number])[]) => line(points.map(([x, y]) => p(x, y)));
  // A prop under the ribs lifts them off the mat; one under the low back fills the hollow there.
  const isUnderRibs = setup.prop?.place === "ribs";
  const isDown = setup.breatheInto?.side === setup.lieOn;

  return {
    headEnd: along(setup.lieOn) === -1 ? "left" : "right",
    mat: outline([p(-322, 206), p(300, 206), p(332, 268), p(-336, 268)]),
    floor: limb([-336, 268], [332, 268]),
    head: smooth([-236, 176], [-236, 155, -221, 146, -203, 146], [-184, 146, -173, 160, -173, 178], [-173, 196, -186, 208, -204, 208], [-222, 208, -236, 196, -236, 176]),
    strands: [0, 1, 2].map((row) => smooth([-228, 168 + row * 9], [-214, 160 + row * 13, -196, 162 + row * 14, -182, 166 + row * 10])),
    neck: limb([-186, 180], [-158, 182]),
    trunk: `${smooth(
      [-168, 164],
      [-164, 146, -156, 132, -136, 131],
      [-104, 130, -76, 158, -44, 161],
      [-14, 163, 6, 139, 42, 138],
      [92, 138, 128, 148, 164, 149],
      [204, 150, 236, 154, 276, 157],
      [281, 163, 281, 172, 276, 178],
      [238, 184, 206, 188, 166, 186],
      [128, 188, 100, 196, 82, 206],
      [74, 222, 58, 231, 34, 231],
      [6, 231, -12, 209, -42, 208],
      ...(isUnderRibs
        ? ([[-72, 207, -92, 214, -128, 214], [-154, 214, -168, 208, -170, 200]] as const)
        : ([[-72, 207, -96, 231, -132, 231], [-156, 231, -168, 216, -170, 200]] as const)),
    )}Z`,
    topFoot: `${smooth([274, 158], [284, 150, 296, 148, 302, 154], [308, 164, 304, 178, 296, 186], [288, 190, 280, 184, 274, 178])}Z`,
    spine: smooth([-168, 182], [-130, 180, -80, 182, -42, 187], [-10, 190, 14, 188, 36, 185]),
    ticks: Array.from({ length: 12 }, (_, index) => -152 + index * 16).map((x) => {
      const y = 181.5 + 6 * Math.exp(-(((x + 30) / 45) ** 2));
      return limb([x, y - 4], [x, y + 4]);
    }),
    blade: smooth([-136, 152], [-116, 148, -104, 158, -98, 166], [-112, 172, -128, 170, -136, 152]),
    topArm: isOnHip
      ? [limb([-140, 148], [-66, 78], [4, 138]), limb([4, 138], [20, 148])]
      : [limb([-138, 150], [-178, 66], [-222, 128]), limb([-222, 128], [-231, 143])],
    bottomArm: [limb([-144, 216], [-212, 220], [-286, 222]), limb([-286, 223], [-318, 226])],
    bottomLeg: [limb([44, 208], [150, 206], [214, 240]), limb([214, 240], [236, 243])],
    prop: setup.prop ? propAt(p, setup.prop.kind, isUnderRibs ? -160 : -80, isUnderRibs ? 212 : 208) : [],
    breath: setup.breatheInto ? fan(p, isDown, isUnderRibs) : [],
    words: {
      anchor: way === 1 ? "start" : "end",
      down: p(-80, 298),
      up: p(76, 118),
      breath: isDown ? p(-334, 298) : p(isOnHip ? -30 : -112, 72),
    },
  };
}

type Put = (x: number, y: number) => Point;

/** Two small bags one on the other, or a folded towel with its fold. */
function propAt(p: Put, kind: PropKind, x: number, y: number): string[] {
  return kind === "two-small-bags"
    ? [block(p, x, y + 14, 15), block(p, x + 6, y, 15)]
    : [block(p, x, y, 29), line([p(x + 8, y + 15), p(x + 66, y + 15)])];
}

/** A rounded block 72 wide. */
function block(p: Put, x: number, y: number, h: number): string {
  const [w, r] = [72, 7];
  return `${curve(
    p(x + r, y),
    [p(x + w / 2, y - 1.5), p(x + w / 2, y - 1.5), p(x + w - r, y)],
    [p(x + w, y), p(x + w, y + h), p(x + w - r, y + h)],
    [p(x + w / 2, y + h + 1), p(x + w / 2, y + h + 1), p(x + r, y + h)],
    [p(x, y + h), p(x, y), p(x + r, y)],
  )}Z`;
}

function fan(p: Put, isDown: boolean, isLifted: boolean): string[] {
  const [inner, outer] = isDown ? (isLifted ? [190, 208] : [201, 222]) : [164, 141];
  return [-1, 0, 1].map((step) => line([p(-118 + step * 9, inner - Math.abs(step) * (isDown ? 1 : -1)), p(-118 + step * 19, outer - Math.abs(step) * (isDown ? 3 : -3))]));
}
