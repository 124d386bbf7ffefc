import * as fc from "fast-check";
import { createElement } from "react";
import { renderToStaticMarkup } from "react-dom/server";
import { describe, expect, test } from "vitest";
import { setupDrawing } from "@/app/ui/schematic/setup-geometry";
import { SetupSchematic } from "@/app/ui/schematic/setup-schematic";
import { heightOf, levelOf, spineDrawing, type DrawnCurve } from "@/app/ui/schematic/spine-geometry";
import { SpineSchematic } from "@/app/ui/schematic/spine-schematic";
import { apexesOf, placeOf, REGIONS, type Region } from "@/lib/domain/curve/region";
import { mirrorSetup, type SetupSides } from "@/lib/domain/setup/setup-sides";
import { opposite, type Side } from "@/lib/domain/sides";

type Point = { readonly x: number; readonly y: number };

/** Every coordinate pair of a path, read back from the text that is drawn. */
const pointsOf = (path: string): Point[] =>
  [...path.matchAll(/(-?\d+(?:\.\d+)?) (-?\d+(?:\.\d+)?)/g)].map(([, x, y]) => ({ x: Number(x), y: Number(y) }));
const mirrored = (path: string): string =>
  path.replaceAll(/(-?\d+(?:\.\d+)?) (-?\d+(?:\.\d+)?)/g, (_, x: string, y: string) => `${Number(x) === 0 ? "0" : String(-Number(x))} ${y}`);
/** Shapes whose corners may be walked in another order: the same corners, whatever the order. */
const corners = (path: string): string[] => pointsOf(path).map(({ x, y }) => `${x} ${y}`).sort();

const side = fc.constantFrom<Side>("left", "right");
const curveIn = (region: Region) =>
  fc.record({ region: fc.constant(region), side, apex: fc.constantFrom(...apexesOf(region)) }) satisfies fc.Arbitrary<DrawnCurve>;
const records = fc
  .tuple(
    fc.option(curveIn("proximal-thoracic"), { nil: null }),
    fc.option(curveIn("thoracic"), { nil: null }),
    fc.option(fc.oneof(curveIn("thoracolumbar"), curveIn("lumbar")), { nil: null }),
  )
  .map((all): DrawnCurve[] => all.flatMap((one) => (one === null ? [] : [one])))
  // No record has two curves at one level, or a lower region above a higher one.
  .filter((all) => all.every((one, index) => index === 0 || (levelOf(all[index - 1]?.apex ?? "") ?? 0) < (levelOf(one.apex ?? "") ?? 0)));
const mirrorRecord = (curves: readonly DrawnCurve[]) => curves.map((one) => ({ ...one, side: opposite(one.side) }));

describe("the spine from behind", () => {
  test("the mirrored record gives exactly the mirrored drawing", () => {
    fc.assert(
      fc.property(records, (curves) => {
        const [drawing, other] = [spineDrawing(curves), spineDrawing(mirrorRecord(curves))];
        expect(other.spine).toBe(mirrored(drawing.spine));
        for (const [index, { block, tick, name, isApex }] of drawing.vertebrae.entries()) {
          const turned = other.vertebrae[index];
          expect(corners(turned?.block ?? ""), name).toEqual(corners(mirrored(block)));
          expect(turned?.tick, name).toBe(mirrored(tick));
          expect(turned?.isApex).toBe(isApex);
        }
        expect(new Set(other.ribs)).toEqual(new Set(drawing.ribs.map(mirrored)));
        expect(other.bulges.map(({ leader }) => leader)).toEqual(drawing.bulges.map(({ leader }) => mirrored(leader)));
        expect(other.bulges.map(({ side: named }) => named)).toEqual(drawing.bulges.map(({ side: named }) => opposite(named)));
      }),
    );
  });

  test("the pelvis and the back's outline are symmetrical, so nothing but the spine tells the sides", () => {
    const { pelvis, back } = spineDrawing([{ region: "lumbar", side: "left", apex: "L2" }]);
    expect(new Set(pelvis.flatMap(corners))).toEqual(new Set(pelvis.map(mirrored).flatMap(corners)));
    expect(corners(mirrored(back))).toEqual(corners(back));
  });

  test("bulges to the named side, and nowhere farther than at the apex", () => {
    fc.assert(
      fc.property(records, (curves) => {
        const { spine, bulges } = spineDrawing(curves);
        const points = pointsOf(spine);
        for (const { side: convex, at } of bulges) {
          const way = convex === "left" ? -1 : 1;
          expect(Math.sign(at.x)).toBe(way);
          expect(points).toContainEqual({ x: at.x, y: Math.round(at.y * 100) / 100 });
          const others = bulges.filter((other) => other.at.y !== at.y).map((other) => Math.abs(other.at.y - at.y) / 2);
          const near = points.filter(({ y }) => Math.abs(y - at.y) < Math.min(40, ...others));
          for (const point of near) expect(way * point.x).toBeLessThanOrEqual(way * at.x + 0.005);
        }
      }),
    );
  });

  test("thoracic right, lumbar left: right of the midline at T8, left of it at L2/3", () => {
    const { bulges, vertebrae } = spineDrawing([
      { region: "lumbar", side: "left", apex: "L2/3" },
      { region: "thoracic", side: "right", apex: "T8" },
    ]);
    expect(bulges.map(({ side: named, apex, at }) => [named, apex, at.x > 0])).toEqual([
      ["right", "T8", true],
      ["left", "L2/3", false],
    ]);
    expect(vertebrae.filter(({ isApex }) => isApex).map(({ name }) => name)).toEqual(["T8"]);
    expect(vertebrae.map(({ name }) => name).join(" ")).toBe("C7 T1 T2 T3 T4 T5 T6 T7 T8 T9 T10 T11 T12 L1 L2 L3 L4 L5");
  });

  test("no curve is a straight line", () => {
    expect(pointsOf(spineDrawing([]).spine).every(({ x }) => x === 0)).toBe(true);
  });

  test("an apex is a vertebra or the disc between two neighbours; nothing else is marked", () => {
    expect(["T1", "T12", "L1", "L5", "T11/12", "T12/L1", "L1/2"].map(levelOf)).toEqual([1, 12, 13, 17, 11.5, 12.5, 13.5]);
    expect(["", "T13", "L6", "L0", "T9/11", "T12/1", "S1", "8"].map(levelOf)).toEqual(Array.from({ length: 8 }, () => null));
    const [bulge] = spineDrawing([{ region: "lumbar", side: "left", apex: "L9" }]).bulges;
    expect(bulge).toMatchObject({ side: "left", apex: null });
    expect(spineDrawing([{ region: "lumbar", side: "left", apex: "L9" }]).vertebrae.some(({ isApex }) => isApex)).toBe(false);
  });

  test("every apex that a record may hold is drawn, in the same order along the spine", () => {
    const levels = REGIONS.flatMap(apexesOf);
    for (const level of levels) expect(levelOf(level), level).not.toBeNull();
    const byPlace = levels.toSorted((a, b) => placeOf(a) - placeOf(b));
    expect(levels.toSorted((a, b) => (levelOf(a) ?? 0) - (levelOf(b) ?? 0))).toEqual(byPlace);
  });

  test("vertebrae stand one under the other", () => {
    const heights = Array.from({ length: 19 }, (_, level) => heightOf(level));
    expect(heights.every((height, index) => index === 0 || height > (heights[index - 1] ?? 0))).toBe(true);
  });

  test("refuses two curves at one level", () => {
    expect(() => spineDrawing([{ region: "thoracic", side: "left", apex: "T8" }, { region: "lumbar", side: "right", apex: "T8" }])).toThrow(RangeError);
  });

  test("is a named picture, L at drawing left, never turned by the page's direction", () => {
    const label = { title: "Thoracic right", desc: "Bulges to the child's RIGHT at T8.", letters: { left: "L", right: "R" }, words: { left: "LEFT", right: "RIGHT" } };
    const markup = renderToStaticMarkup(createElement("div", { dir: "rtl" }, createElement(SpineSchematic, { curves: [{ region: "thoracic", side: "right", apex: "T8" }], label })));
    expect(markup).toMatch(/<svg[^>]*role="img"[^>]*direction="ltr"/);
    const titleId = /aria-labelledby="([^"]+)"/.exec(markup)?.[1];
    expect(markup).toContain(`<title id="${titleId}">Thoracic right</title>`);
    expect(Number(/<text[^>]* x="([^"]+)"[^>]*>L<\/text>/.exec(markup)?.[1])).toBeLessThan(0);
    expect(Number(/<text[^>]* x="([^"]+)"[^>]*>R<\/text>/.exec(markup)?.[1])).toBeGreaterThan(0);
    expect(Number(/<text[^>]* x="([^"]+)"[^>]*>RIGHT<\/text>/.exec(markup)?.[1])).toBeGreaterThan(0);
    expect(markup).not.toContain(">LEFT<");
    expect(markup).not.toContain("style=");
  });
});

const setupOn = (lieOn: Side, isOnHip = false, breatheInto: Side | null = null): SetupSides => ({
  lieOn,
  prop: { kind: "two-small-bags", side: lieOn, place: "low-back" },
  topArm: { side: opposite(lieOn), position: isOnHip ? "on-hip" : "up" },
  bottomArm: { side: lieOn, position: "long-palm-down" },
  topLeg: { side: opposite(lieOn), position: "straight" },
  bottomLeg: { side: lieOn, position: "knee-bent" },
  breatheInto: breatheInto && { side: breatheInto },
});
const setups = fc
  .tuple(side, fc.boolean(), fc.option(side, { nil: null }), fc.constantFrom("low-back" as const, "ribs" as const), fc.constantFrom("two-small-bags" as const, "folded-towel" as const, null))
  .map(([lieOn, isOnHip, breath, place, kind]): SetupSides => ({ ...setupOn(lieOn, isOnHip, breath), prop: kind && { kind, side: lieOn, place } }));

describe("the set-up from behind", () => {
  test("the mirrored set-up gives exactly the mirrored drawing", () => {
    fc.assert(
      fc.property(setups, (setup) => {
        const { words, headEnd, ...paths } = setupDrawing(setup);
        const { words: otherWords, headEnd: otherEnd, ...others } = setupDrawing(mirrorSetup(setup));
        expect(others).toEqual(Object.fromEntries(Object.entries(paths).map(([name, path]) => [name, typeof path === "string" ? mirrored(path) : path.map(mirrored)])));
        expect(otherEnd).toBe(opposite(headEnd));
        expect(otherWords.anchor).not.toBe(words.anchor);
        for (const name of ["down", "up", "breath"] as const) expect(otherWords[name]).toEqual({ x: -words[name].x, y: words[name].y });
      }),
    );
  });

  /**
   * left = superior × anterior with x right, y up, z toward the viewer (right-handed axes; common
   * practice, no source). The back faces the viewer, so anterior is -z: left's y is superior's x.
   */
  test.each(["left", "right"] as const)("lying on the %s, the head is where a real body has it", (lieOn) => {
    const { head, topFoot, headEnd } = setupDrawing(setupOn(lieOn));
    const mean = (path: string) => pointsOf(path).reduce((sum, { x }) => sum + x, 0) / pointsOf(path).length;
    const superior = Math.sign(mean(head) - mean(topFoot));
    const leftUp = superior;
    expect(leftUp < 0 ? "left" : "right").toBe(lieOn);
    expect(headEnd).toBe(superior < 0 ? "left" : "right");
  });

  test("the bags lie under the waist, between ribs and hip, and the elbow is the highest point", () => {
    const { prop: bags, trunk, topArm, bottomLeg } = setupDrawing(setupOn("left"));
    const [bag = []] = bags.map(pointsOf);
    expect(bags).toHaveLength(2);
    expect(Math.min(...bag.map(({ x }) => x))).toBeGreaterThan(-96);
    expect(Math.max(...bag.map(({ x }) => x))).toBeLessThan(6);
    const highest = Math.min(...topArm.flatMap(pointsOf).map(({ y }) => y));
    expect(highest).toBeLessThan(Math.min(...pointsOf(trunk).map(({ y }) => y)) - 40);
    const knee = pointsOf(bottomLeg[0] ?? "");
    const [a, b, c] = knee;
    const turn = Math.atan2((c?.y ?? 0) - (b?.y ?? 0), (c?.x ?? 0) - (b?.x ?? 0)) - Math.atan2((b?.y ?? 0) - (a?.y ?? 0), (b?.x ?? 0) - (a?.x ?? 0));
    expect(Math.abs(turn)).toBeGreaterThan(0.4);
  });

  test("a prop meant for the ribs is drawn under the ribs, nearer the head", () => {
    const middle = (place: "low-back" | "ribs") => {
      const [part = ""] = setupDrawing({ ...setupOn("left"), prop: { kind: "folded-towel", side: "left", place } }).prop;
      return pointsOf(part).reduce((sum, { x }) => sum + x, 0) / pointsOf(part).length;
    };
    expect(middle("ribs")).toBeLessThan(middle("low-back") - 60);
    expect(setupDrawing({ ...setupOn("left"), prop: null }).prop).toEqual([]);
  });

  test("the ribs that widen are drawn on the named side, below when it is the side down", () => {
    const lowest = (breath: Side) => Math.max(...setupDrawing(setupOn("left", false, breath)).breath.flatMap(pointsOf).map(({ y }) => y));
    expect(lowest("left")).toBeGreaterThan(200);
    expect(lowest("right")).toBeLessThan(182);
    expect(setupDrawing(setupOn("left")).breath).toEqual([]);
  });

  test("refuses a limb or prop on a side where it cannot be", () => {
    const sound = setupOn("left");
    for (const wrong of [
      { prop: { kind: "two-small-bags", side: "right", place: "low-back" } },
      { topArm: { side: "left", position: "up" } },
      { topLeg: { side: "left", position: "straight" } },
      { bottomArm: { side: "right", position: "long-palm-down" } },
      { bottomLeg: { side: "right", position: "knee-bent" } },
    ] as const) {
      expect(() => setupDrawing({ ...sound, ...wrong })).toThrow(RangeError);
    }
  });

  test("says the sides in the words given, and is never turned by the page's direction", () => {
    const label = { title: "Lie on the LEFT side", desc: "Seen from behind.", down: "down: LEFT", up: "up: RIGHT", breathe: "breathe: LEFT" };
    const markup = renderToStaticMarkup(createElement("div", { dir: "rtl" }, createElement(SetupSchematic, { ...setupOn("left", false, "left"), label })));
    expect(markup).toMatch(/<svg[^>]*role="img"[^>]*direction="ltr"[^>]*data-head-end="left"/);
    expect(markup).toContain(">down: LEFT</text>");
    expect(markup).toContain(">up: RIGHT</text>");
    expect(markup).toContain(">breathe: LEFT</text>");
    const silent = renderToStaticMarkup(createElement(SetupSchematic, { ...setupOn("left"), label }));
    expect(silent).not.toContain("breathe");
    expect(markup).not.toContain("style=");
  });
});
