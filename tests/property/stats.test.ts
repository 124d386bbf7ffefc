import * as fc from "fast-check";
import { expect, it } from "vitest";
import { kaplanMeier, survivalQuantile } from "@/lib/domain/stats/kaplan-meier";
import { wilson } from "@/lib/domain/stats/wilson";

const observations = fc.array(fc.record({ time: fc.integer({ min: 0, max: 60 }), observed: fc.boolean() }), { maxLength: 60 });
const by = fc.constantFrom("plain", "log", "log-log");

it("the curve only falls, its limits hold it, and the order of arrival does not matter", () => {
  fc.assert(
    fc.property(observations, by, (list, way) => {
      const curve = kaplanMeier(list, { by: way });
      let before = 1;
      for (const { survival, lower, upper } of curve.steps) {
        expect(survival).toBeLessThanOrEqual(before);
        if (lower !== null && upper !== null) {
          expect(lower).toBeGreaterThanOrEqual(0);
          expect(lower).toBeLessThanOrEqual(survival);
          expect(upper).toBeGreaterThanOrEqual(survival);
          expect(upper).toBeLessThanOrEqual(1);
        }
        before = survival;
      }
      expect(kaplanMeier(list.toReversed(), { by: way })).toEqual(curve);
      const { estimate, lower, upper } = survivalQuantile(curve, 0.5);
      if (estimate !== null && lower !== null) expect(lower).toBeLessThanOrEqual(estimate);
      if (estimate !== null && upper !== null) expect(upper).toBeGreaterThanOrEqual(estimate);
    }),
  );
});

it("with nothing open, the curve is the plain share still waiting", () => {
  fc.assert(
    fc.property(fc.array(fc.integer({ min: 0, max: 20 }), { minLength: 1, maxLength: 40 }), (times) => {
      for (const { time, survival } of kaplanMeier(times.map((one) => ({ time: one, observed: true }))).steps) {
        expect(survival).toBeCloseTo(times.filter((one) => one > time).length / times.length, 12);
      }
    }),
  );
});

it("a share's interval lies within 0..1, holds the share, mirrors, and narrows with n", () => {
  fc.assert(
    fc.property(fc.integer({ min: 1, max: 500 }), fc.double({ min: 0, max: 1, noNaN: true }), (n, part) => {
      const x = Math.round(part * n);
      const one = wilson(x, n);
      const other = wilson(n - x, n);
      const larger = wilson(10 * x, 10 * n);
      if (!one || !other || !larger) throw new Error("An interval was expected.");
      expect(one.lower).toBeGreaterThanOrEqual(0);
      expect(one.upper).toBeLessThanOrEqual(1);
      expect(one.lower).toBeLessThanOrEqual(x / n);
      expect(one.upper).toBeGreaterThanOrEqual(x / n);
      expect(one.lower + other.upper).toBeCloseTo(1, 12);
      expect(larger.upper - larger.lower).toBeLessThan(one.upper - one.lower);
    }),
  );
});
