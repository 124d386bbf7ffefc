import { describe, expect, it } from "vitest";
import { boxFor, lookOf } from "@/app/desk/children/[childId]/then-and-now/look";
import type { PairPhoto } from "@/lib/domain/answering/pair";
import { anglesInBoth } from "@/lib/domain/answering/pair-angles";
import { photoPoint } from "@/lib/domain/marks/geometry";
import type { Mark } from "@/lib/domain/marks/marks";
import { WHOLE } from "@/lib/domain/marks/viewport";

const SIZE = { width: 1000, height: 500 };
type At = readonly [number, number];

/** An angle by its pixels in a photo of SIZE. */
function angle(itemKey: string | null, from: At, vertex: At, to: At, id = "angle"): Mark {
  const point = ([x, y]: At) => photoPoint(x / SIZE.width, y / SIZE.height);
  return { id, kind: "angle", itemKey, from: point(from), vertex: point(vertex), to: point(to) };
}
const photo = (photoId: string, marks: readonly Mark[], more: Partial<PairPhoto> = {}) =>
  ({ photoId, at: 1, view: "behind" as const, isTurnedBack: false, sidesKey: "lie-left", isStopped: false, ...SIZE, marks, ...more });

/** The angles of a 3-4-5 triangle, 36.87 and 53.13 degrees (arithmetic), and 142.25 of three image points (atan2 of cross and dot, worked out in Python). */
const A37 = angle("elbow-high", [300, 400], [700, 400], [300, 100]);
const A53 = angle("elbow-high", [300, 400], [300, 100], [700, 400]);
const A142 = angle("elbow-high", [120, 340], [260, 300], [410, 360]);
const A45 = angle("elbow-high", [400, 100], [300, 100], [400, 200]);

describe("an angle drawn on both photos of a pair", () => {
  it("is read in whole degrees, and called apart from ten degrees on", () => {
    expect(anglesInBoth(photo("then", [A37]), photo("now", [A53]))).toEqual([{ itemKey: "elbow-high", earlier: 37, later: 53, areApart: true }]);
    expect(anglesInBoth(photo("then", [A53]), photo("now", [A142]))).toEqual([{ itemKey: "elbow-high", earlier: 53, later: 142, areApart: true }]);
    // Eight degrees: within what pointing alone may err.
    expect(anglesInBoth(photo("then", [A37]), photo("now", [A45]))).toEqual([{ itemKey: "elbow-high", earlier: 37, later: 45, areApart: false }]);
  });

  it("says nothing of another item, of no item, of two angles, or of one photo alone", () => {
    const now = photo("now", [A53]);
    for (const marks of [[], [{ ...A37, itemKey: "stacked" }], [{ ...A37, itemKey: null }], [A37, { ...A45, id: "second" }]]) {
      expect(anglesInBoth(photo("then", marks), now)).toEqual([]);
      expect(anglesInBoth(now, photo("then", marks))).toEqual([]);
    }
    expect(anglesInBoth(photo("then", [{ ...A37, itemKey: null }]), photo("now", [{ ...A53, itemKey: null }]))).toEqual([]);
  });

  it("says nothing when the two are seen another way or were sent under other sides", () => {
    const then = photo("then", [A37]);
    expect(anglesInBoth(then, photo("now", [A53], { view: "front" }))).toEqual([]);
    expect(anglesInBoth(then, photo("now", [A53], { sidesKey: "lie-right" }))).toEqual([]);
    expect(anglesInBoth(then, photo("now", [A53], { isTurnedBack: true }))).toHaveLength(1);
  });
});

describe("two photos looked at together", () => {
  it("stand in boxes of one shape: the taller photo's, at most three to four", () => {
    expect(boxFor([{ width: 4000, height: 3000 }, { width: 1600, height: 1200 }])).toEqual({ width: 1200, height: 900 });
    expect(boxFor([{ width: 1600, height: 900 }, { width: 1200, height: 1200 }])).toEqual({ width: 1200, height: 1200 });
    expect(boxFor([{ width: 1080, height: 2400 }, { width: 1600, height: 900 }])).toEqual({ width: 1200, height: 1600 });
  });

  it("move alike from the whole by every key, whatever their own sizes in one shape", () => {
    const [small, large] = [{ width: 800, height: 600 }, { width: 2048, height: 1536 }];
    const box = boxFor([small, large]);
    let [one, other] = [WHOLE, WHOLE];
    for (const key of ["+", "=", "+", "ArrowLeft", "ArrowUp", "ArrowUp", "-", "ArrowRight", "ArrowDown"]) {
      const look = lookOf(key);
      expect(look, key).not.toBeNull();
      if (!look) continue;
      [one, other] = [look(one, small, box), look(other, large, box)];
      for (const part of ["zoom", "x", "y"] as const) expect(other[part]).toBeCloseTo(one[part], 9);
    }
    expect(one.zoom).toBeGreaterThan(1);
    expect(lookOf("0")?.(one, small, box)).toEqual(WHOLE);
    for (const key of ["1", "n", "Tab", "Enter", " "]) expect(lookOf(key)).toBeNull();
  });
});
