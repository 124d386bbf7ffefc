import * as fc from "fast-check";
import { describe, expect, it } from "vitest";
import { ENOUGH, teachingPoints, type PhotoVerdict } from "@/lib/domain/stats/teaching-points";

type Said = "fix" | "in-place" | null;

/** One child's verdicts on an item, photo set by photo set; null: not seen in that set. */
const child = (childId: string, itemKey: string, ...said: readonly Said[]): readonly PhotoVerdict[] =>
  said.flatMap((verdict, at) => (verdict === null ? [] : [{ childId, itemKey, verdict, nth: at + 1 }]));
const many = (count: number, itemKey: string, ...said: readonly Said[]) => Array.from({ length: count }, (_, at) => child(`${itemKey} ${said.join()} ${at}`, itemKey, ...said)).flat();
const only = (verdicts: readonly PhotoVerdict[]) => {
  const [point, ...others] = teachingPoints(verdicts);
  if (!point || others.length > 0) throw new Error("expected one point");
  return point;
};

describe("points to teach again", () => {
  it("counts each child's first judged photo once, whatever came later", () => {
    const { first } = only([...many(4, "arm", "fix", "fix", "in-place"), ...many(16, "arm", "in-place", "fix")]);
    expect([first.count, first.of]).toEqual([4, 20]);
    // NIST/SEMATECH e-Handbook 7.2.4.1: 4 of 20.
    expect(first.interval?.lower).toBeCloseTo(0.08065766257979806, 12);
    expect(first.interval?.upper).toBeCloseTo(0.4160174322518935, 12);
  });

  it("takes no later photo for a first one in which the item could not be seen", () => {
    const { first, isClaimed } = only(many(9, "arm", null, "fix"));
    expect(first).toEqual({ count: 0, of: 0, interval: null });
    expect(isClaimed).toBe(false);
  });

  it("never lets three photos outrank thirty", () => {
    const points = teachingPoints([...many(3, "three-of-three", "fix"), ...many(20, "twenty-of-thirty", "fix"), ...many(10, "twenty-of-thirty", "in-place"), ...many(6, "two-of-eight", "in-place"), ...many(2, "two-of-eight", "fix")]);
    expect(points.map(({ itemKey, isClaimed }) => [itemKey, isClaimed])).toEqual([["twenty-of-thirty", true], ["two-of-eight", true], ["three-of-three", false]]);
  });

  it("says how many photos until settled, the unsettled counted as open", () => {
    // Two in a row settle: at 2, at 3 and at 4; one child open after 3 photos, one after 1.
    const { settling } = only([
      ...child("a", "arm", "in-place", "in-place"), ...child("b", "arm", "fix", "in-place", "in-place"), ...child("c", "arm", "fix", "fix", "in-place", "in-place"),
      ...child("d", "arm", "fix", "in-place", "fix"), ...child("e", "arm", "fix"),
    ]);
    // Product-limit by hand: at 2 of four waiting one, at 3 of three one (the open one still counts), at 4 the last.
    expect(settling.curve.steps.map(({ time, atRisk, events, survival }) => [time, atRisk, events, survival])).toEqual([[1, 5, 0, 1], [2, 4, 1, 0.75], [3, 3, 1, 0.5], [4, 1, 1, 0]]);
    expect(settling.curve.open).toBe(2);
    expect(settling.median.estimate).toBe(3.5);
  });

  it("says of the settled how many slipped", () => {
    const { slips } = only([...many(3, "arm", "in-place", "in-place", "in-place"), ...many(1, "arm", "in-place", "in-place", "fix"), ...many(2, "arm", "fix", "in-place")]);
    expect([slips.count, slips.of]).toEqual([1, 4]);
  });

  it("is in order, whole and the same however the verdicts come", () => {
    const verdict = fc.record({
      childId: fc.constantFrom("a", "b", "c", "d", "e", "f", "g"), itemKey: fc.constantFrom("arm", "leg", "prop"),
      verdict: fc.constantFrom("fix" as const, "in-place" as const), nth: fc.integer({ min: 1, max: 6 }),
    });
    const history = fc.uniqueArray(verdict, { selector: ({ childId, itemKey, nth }) => `${childId} ${itemKey} ${nth}`, maxLength: 60 });
    fc.assert(fc.property(history, fc.infiniteStream(fc.nat()), (said, salt) => {
      const points = teachingPoints(said);
      const key = (all: ReturnType<typeof teachingPoints>) => Object.fromEntries(all.map((point) => [point.itemKey, point]));
      const shuffled = said.map((each) => [salt.next().value, each] as const).toSorted((a, b) => a[0] - b[0]).map(([, each]) => each);
      expect(key(teachingPoints(shuffled))).toEqual(key(points));
      expect(points.map(({ itemKey }) => itemKey).toSorted()).toEqual([...new Set(said.map(({ itemKey }) => itemKey))].toSorted());
      for (const { first, slips, isClaimed, settling } of points) {
        expect(first.count).toBeLessThanOrEqual(first.of);
        expect(slips.of).toBe(settling.curve.n - settling.curve.open);
        expect(isClaimed).toBe(first.of >= ENOUGH);
      }
      const lower = points.filter(({ isClaimed }) => isClaimed).map(({ first }) => first.interval?.lower ?? 0);
      expect(lower).toEqual(lower.toSorted((a, b) => b - a));
      expect(points.map(({ isClaimed }) => isClaimed)).toEqual(points.map(({ isClaimed }) => isClaimed).toSorted((a, b) => Number(b) - Number(a)));
    }));
  });
});
