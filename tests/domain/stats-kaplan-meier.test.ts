import { describe, expect, it } from "vitest";
import quantiles from "@/tests/checks/quantiles.json";
import answering from "@/tests/checks/kaplan-meier-answering.json";
import trial from "@/tests/checks/kaplan-meier-trial.json";
import { kaplanMeier, survivalQuantile, thinned, type LimitsBy, type Observation } from "@/lib/domain/stats/kaplan-meier";

const observations = (pairs: readonly (readonly number[])[]): Observation[] =>
  pairs.map(([time = Number.NaN, event]) => ({ time, observed: event === 1 }));
const near = (actual: number | null | undefined, expected: number) => expect(Math.abs((actual ?? Number.NaN) - expected)).toBeLessThanOrEqual(1e-12);
const WAYS = [
  ["plain", "plain"],
  ["log", "log"],
  ["log-log", "loglog"],
] as const satisfies readonly (readonly [LimitsBy, string])[];

describe.each(["6-MP", "placebo"] as const)("the %s arm of a published trial (1963)", (name) => {
  const arm = trial[name];

  it.each(WAYS)("has its published survival, standard errors and %s limits", (by, key) => {
    const curve = kaplanMeier(observations(arm.data), { by });
    expect(curve.n).toBe(21);
    expect(curve.open).toBe(name === "6-MP" ? 12 : 0);
    expect(curve.steps).toHaveLength(arm.steps.length);
    for (const [at, row] of arm.steps.entries()) {
      const step = curve.steps[at];
      expect(step).toMatchObject({ time: row.time, atRisk: row.atRisk, events: row.events });
      near(step?.survival, row.S);
      const limits = row[key];
      if (row.SE === null || !limits) {
        expect(step).toMatchObject({ standardError: null, lower: null, upper: null });
        continue;
      }
      near(step?.standardError, row.SE);
      // A share cannot lie outside 0..1: the file's plain limits are kept within, as R does.
      near(step?.lower, Math.max(0, limits[0] ?? Number.NaN));
      near(step?.upper, Math.min(1, limits[1] ?? Number.NaN));
    }
  });

  it.each(WAYS)("has its published quartiles with %s limits", (by, key) => {
    const curve = kaplanMeier(observations(arm.data), { by });
    for (const [p, row] of Object.entries(arm.quantiles)) {
      const [lower, upper] = row[key];
      expect(survivalQuantile(curve, Number(p))).toEqual({ estimate: row.estimate, lower, upper });
    }
  });
});

describe("waiting for an answer, four of fourteen still open", () => {
  it.each(WAYS)("agrees with R on every step, with %s limits", (by, key) => {
    const expected = answering[key];
    const curve = kaplanMeier(observations(answering.data), { by });
    expect(curve).toMatchObject({ n: 14, open: 4 });
    expect(curve.steps.map(({ time }) => time)).toEqual(expected.time);
    expect(curve.steps.map(({ atRisk }) => atRisk)).toEqual(expected.n_risk);
    for (const [at, step] of curve.steps.entries()) {
      near(step.survival, expected.S[at] ?? Number.NaN);
      near(step.standardError, expected.se[at] ?? Number.NaN);
      near(step.lower, expected.lower[at] ?? Number.NaN);
      near(step.upper, expected.upper[at] ?? Number.NaN);
    }
    expect(survivalQuantile(curve, 0.5)).toEqual({ estimate: expected.median, lower: expected.median_lower, upper: expected.median_upper });
    expect(survivalQuantile(curve, 0.9).estimate).toBe(expected.p90);
  });
});

describe("open ones", () => {
  const median = (list: readonly Observation[]) => survivalQuantile(kaplanMeier(list), 0.5).estimate;
  const arm = observations(trial["6-MP"].data);

  it("dropped or counted as answered, give the wrong medians that the right one avoids", () => {
    expect(median(arm)).toBe(23);
    expect(median(arm.filter(({ observed }) => observed))).toBe(trial.wrongMedians.openDropped);
    expect(median(arm.map(({ time }) => ({ time, observed: true })))).toBe(trial.wrongMedians.openCountedAsClosed);
  });

  it("still wait at the moment another is answered", () => {
    const [first] = kaplanMeier([{ time: 6, observed: false }, { time: 6, observed: true }]).steps;
    expect(first).toMatchObject({ atRisk: 2, events: 1, survival: 0.5 });
  });

  it("alone say nothing yet", () => {
    const curve = kaplanMeier([{ time: 3, observed: false }, { time: 5, observed: false }]);
    expect(curve.steps.map(({ survival, lower, upper }) => [survival, lower, upper])).toEqual([[1, null, null], [1, null, null]]);
    expect(survivalQuantile(curve, 0.5)).toEqual({ estimate: null, lower: null, upper: null });
    expect(kaplanMeier([])).toEqual({ steps: [], n: 0, open: 0 });
  });
});

describe("a level at exactly the quantile", () => {
  // The rule of R's survfit (from memory): the middle of the level; with no later step, its beginning.
  it("gives its middle, or its beginning when nothing follows", () => {
    const four = [1, 2, 3, 4].map((time) => ({ time, observed: true }));
    expect(survivalQuantile(kaplanMeier(four), 0.5).estimate).toBe(2.5);
    expect(survivalQuantile(kaplanMeier(four.map((one) => ({ ...one, observed: one.time <= 2 }))), 0.5).estimate).toBe(2);
  });

  it("refuses times and quantiles that are none", () => {
    expect(() => kaplanMeier([{ time: -1, observed: true }])).toThrow(RangeError);
    expect(() => kaplanMeier([{ time: Number.NaN, observed: true }])).toThrow(RangeError);
    expect(() => kaplanMeier([{ time: Infinity, observed: false }])).toThrow(RangeError);
    for (const p of [0, 1]) expect(() => survivalQuantile(kaplanMeier([]), p)).toThrow(RangeError);
  });
});

describe("a curve drawn with fewer steps", () => {
  const curve = kaplanMeier(Array.from({ length: 1000 }, (_, at) => ({ time: at % 500, observed: at % 3 !== 0 })));

  it("keeps every event, the last step and who was at risk, at heights that the curve has", () => {
    const few = thinned(curve.steps, 40);
    expect(few).toHaveLength(40);
    expect(few.reduce((sum, { events }) => sum + events, 0)).toBe(curve.steps.reduce((sum, { events }) => sum + events, 0));
    expect(few.at(-1)).toMatchObject({ time: 499, survival: curve.steps.at(-1)?.survival });
    expect(few[0]?.atRisk).toBe(1000);
    for (const { time, survival, lower, upper } of few) expect(curve.steps.find((step) => step.time === time)).toMatchObject({ survival, lower, upper });
  });

  it("is itself where it is short enough", () => {
    expect(thinned(curve.steps, 500)).toBe(curve.steps);
    expect(thinned([], 5)).toEqual([]);
  });
});

describe("quantiles when nothing is open, against nine published kinds of them (type 2)", () => {
  it.each(quantiles.sets)("$name", ({ data, probs, type2 }) => {
    expect(probs.length).toBeGreaterThan(0);
    const curve = kaplanMeier(data.map((time) => ({ time, observed: true })));
    for (const [at, p] of probs.entries()) expect(survivalQuantile(curve, p).estimate).toBeCloseTo(type2[at] ?? Number.NaN, 9);
  });
});
