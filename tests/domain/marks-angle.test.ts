import { describe, expect, test } from "vitest";
import { lensOf } from "@/demo-data/scene/camera";
import { sceneOf } from "@/demo-data/scene/params";
import { sceneTruth } from "@/demo-data/scene/scene";
import { angleAt, inPixels, isChange, readingOf, toLevel } from "@/lib/domain/marks/angle";
import { photoPoint } from "@/lib/domain/marks/geometry";
import { levelOf } from "@/lib/domain/marks/level";
import type { Angle, Line } from "@/lib/domain/marks/marks";

const at = (x: number, y: number) => ({ x, y });
const radians = (degrees: number) => (degrees * Math.PI) / 180;
const turned = (point: { readonly x: number; readonly y: number }, degrees: number) => {
  const [cos, sin] = [Math.cos(radians(degrees)), Math.sin(radians(degrees))];
  return at(point.x * cos - point.y * sin, point.x * sin + point.y * cos);
};

describe("an angle between three points", () => {
  // Values by atan2(|cross|, dot) in an implementation that shares nothing with this one; the two of
  // the 3-4-5 triangle also by arithmetic (they add up to 90).
  test.each([
    ["3-4-5, the smaller", at(4, 0), at(0, 0), at(4, 3), 36.86989764584402],
    ["3-4-5, the larger", at(3, 0), at(0, 0), at(3, 4), 53.13010235415598],
    ["three pixels of a picture", at(120, 340), at(260, 300), at(410, 360), 142.25319461272534],
    ["right", at(1, 0), at(0, 0), at(0, 1), 90],
    ["straight", at(-5, 0), at(0, 0), at(7, 0), 180],
    ["shut", at(1, 0), at(0, 0), at(3, 0), 0],
  ])("%s", (_name, a, vertex, b, degrees) => {
    expect(angleAt(a, vertex, b)).toBeCloseTo(degrees, 9);
    expect(angleAt(b, vertex, a)).toBeCloseTo(degrees, 9);
  });

  test("near straight nothing is lost, as the arc cosine would lose it", () => {
    // tan(0.0000572957795) in degrees is a millionth of the arm: 180 minus that, exactly.
    const [a, b] = [at(-1, 0), at(1, 1e-6)];
    expect(angleAt(a, at(0, 0), b)).toBeCloseTo(179.9999427042205, 9);
    const cosine = (a.x * b.x + a.y * b.y) / (Math.hypot(a.x, a.y) * Math.hypot(b.x, b.y));
    expect(Math.abs((Math.acos(cosine) * 180) / Math.PI - 179.9999427042205)).toBeGreaterThan(1e-9);
  });

  test("no arm, no angle", () => {
    expect(angleAt(at(1, 1), at(1, 1), at(5, 5))).toBeNull();
    expect(toLevel(at(2, 2), at(2, 2), 0)).toBeNull();
  });

  test("is measured in pixels: the same fractions mean another angle in another shape of photo", () => {
    const mark: Angle = { id: "g", itemKey: null, kind: "angle", from: photoPoint(0.9, 0.5), vertex: photoPoint(0.5, 0.5), to: photoPoint(0.9, 0.1) };
    expect(readingOf(mark, { width: 1000, height: 1000 }, null)).toBe(45);
    expect(readingOf(mark, { width: 2048, height: 1536 }, null)).toBe(37);
    expect(readingOf(mark, { width: 1536, height: 2048 }, null)).toBe(53);
  });

  test("two readings under 10 degrees apart are no change", () => {
    // Design rule, from the limits of agreement of photo goniometers (-7.5 to +10.7 degrees at the knee).
    expect([isChange(40, 49), isChange(49, 40), isChange(40, 40)]).toEqual([false, false, false]);
    expect([isChange(40, 50), isChange(50, 40)]).toEqual([true, true]);
  });
});

describe("level from a side card", () => {
  const card = { found: "one", owner: "this-child", turnToUpright: 0, levelDegrees: 4 } as const;
  // A line that lies level in the room, drawn in a picture turned clockwise by 4 degrees.
  const [from, to] = [at(0, 0), turned(at(100, 0), 4)];

  test("takes the camera's roll out of a line, upright or lying on its side", () => {
    expect(toLevel(from, to, levelOf(card) ?? Number.NaN)).toBeCloseTo(0, 9);
    // The same picture turned a quarter further must be turned back by 270 to stand upright.
    for (const [turn, turnToUpright] of [[90, 270], [180, 180], [270, 90]] as const) {
      const level = levelOf({ ...card, turnToUpright }) ?? Number.NaN;
      expect(toLevel(turned(from, turn), turned(to, turn), level)).toBeCloseTo(0, 9);
      expect(toLevel(turned(from, turn), turned(turned(to, 30), turn), level)).toBeCloseTo(30, 9);
    }
  });

  test("is not known without a card, with several, or with one that is too small to be trusted", () => {
    expect([levelOf(null), levelOf({ found: "several" }), levelOf({ ...card, levelDegrees: null })]).toEqual([null, null, null]);
  });
});

describe("a camera that is not held as it should be", () => {
  const [hip, knee, ankle] = [at(10, 0), at(0, 0), at(-6, 8)];

  test("turned by r degrees: an angle at a joint stays, an angle to the picture's horizontal shifts by r", () => {
    const joint = angleAt(hip, knee, ankle) ?? Number.NaN;
    const slope = toLevel(at(0, 0), at(100, 40), 0) ?? Number.NaN;
    for (const r of [1, 3, 7.5, 12, 20]) {
      expect(angleAt(turned(hip, r), turned(knee, r), turned(ankle, r))).toBeCloseTo(joint, 9);
      const [from, to] = [turned(at(0, 0), r), turned(at(100, 40), r)];
      expect(toLevel(from, to, 0)).toBeCloseTo(slope + r, 9);
      // The level of a side card that was turned with the picture takes the shift away again.
      expect(toLevel(from, to, r)).toBeCloseTo(slope, 9);
    }
  });

  // tan(a') = tan(a) cos(phi), from far away; the worst error of any true angle lies near 45 degrees.
  test.each([[5, 0.109], [10, 0.439], [15, 0.993], [20, 1.782], [25, 2.817], [30, 4.117]])("off its axis by %i degrees: at worst %f degrees", (phi, worst) => {
    let found = 0;
    for (let true10 = 1; true10 < 900; true10 += 1) {
      const a = radians(true10 / 10);
      const seen = angleAt(at(1, 0), at(0, 0), at(Math.cos(a), Math.sin(a) * Math.cos(radians(phi)))) ?? Number.NaN;
      found = Math.max(found, Math.abs(seen - true10 / 10));
    }
    expect(Math.abs(found - worst)).toBeLessThan(1e-3);
  });
});

/**
 * The drawn scene knows its own truth. Seen from behind, the camera looks 13 degrees down from 3.1
 * body heights; the leg lies across the picture, so the truth is its slope in the room.
 */
describe("the top leg's angle to level in a drawn photo", () => {
  const SIZE = { width: 1600, height: 1200 };
  const errorAt = (tilt: number, lift: number, level: number | null) => {
    const { points } = sceneTruth({ lieOn: "left", topLegLift: lift, tilt });
    const [hip, knee] = [photoPoint(points.hip.x, points.hip.y), photoPoint(points.topKnee.x, points.topKnee.y)];
    const line: Line = { id: "l", itemKey: null, kind: "line", from: hip, to: knee };
    const read = readingOf(line, SIZE, level ?? 0);
    // The figure's thigh runs 3 degrees flatter than the lift that is asked for.
    return read === null ? Number.NaN : read - Math.abs(lift - 3);
  };
  const LIFTS = [5, 10, 15, 20, 25, 30];
  const worst = (tilt: number, known: boolean) => Math.max(...LIFTS.map((lift) => Math.abs(errorAt(tilt, lift, known ? tilt : null))));

  test.each([0, 2, 5, 10, 15, 20])("a camera turned by %i degrees: right to a degree when level is known, off by the turn when it is not", (tilt) => {
    expect(worst(tilt, true)).toBeLessThanOrEqual(2);
    expect(Math.abs(worst(tilt, false) - tilt)).toBeLessThanOrEqual(2);
  });

  test("an angle at a joint does not care how the camera is turned", () => {
    const bend = (tilt: number) => {
      const { points: { shoulder, hip, topKnee } } = sceneTruth({ lieOn: "left", topLegLift: 20, tilt });
      const [a, b, c] = [shoulder, hip, topKnee].map(({ x, y }) => inPixels(photoPoint(x, y), SIZE));
      return a && b && c ? angleAt(a, b, c) : null;
    };
    for (const tilt of [2, 5, 10, 15, 20]) expect(bend(tilt)).toBeCloseTo(bend(0) ?? Number.NaN, 6);
  });

  test("what is nearer the camera is drawn larger, as a pinhole draws it", () => {
    // d / (d + z): 0.3 m behind a subject at 1 m is drawn at 0.7692307692 of its size, at 3 m at 0.9090909091.
    const ratio = (distance: number) => distance / (distance + 0.3);
    expect([ratio(1), ratio(3)]).toEqual([expect.closeTo(0.7692307692, 9), expect.closeTo(0.9090909091, 9)]);
    const { scale } = lensOf(sceneOf({ lieOn: "left" }));
    const [near, far] = [scale({ x: 0, y: 0, z: 0 }), scale({ x: 0, y: 0, z: -0.3 / Math.cos(radians(13)) })];
    expect(far / near).toBeCloseTo(3.1 / 3.4, 9);
  });
});
