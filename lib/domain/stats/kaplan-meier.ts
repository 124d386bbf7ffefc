import { zOf, type Confidence } from "@/lib/domain/stats/normal";

/** One thing waited for: how long, and whether it came (`observed`) or is still open. */
export type Observation = { readonly time: number; readonly observed: boolean };

/** How limits are laid around the curve; `log` is the default of R's `survfit`, so say which was used. */
export type LimitsBy = "plain" | "log" | "log-log";

export type SurvivalStep = {
  readonly time: number;
  /** Still waiting just before this time. What is left open at it still counts (tie rule). */
  readonly atRisk: number;
  readonly events: number;
  /** Estimated share still waiting after this time. */
  readonly survival: number;
  /** Greenwood's; null once the curve is at 0. */
  readonly standardError: number | null;
  /** Pointwise limits within 0..1; null where they say nothing: before the first event and at 0. */
  readonly lower: number | null;
  readonly upper: number | null;
};

export type SurvivalCurve = {
  /** One step for each distinct time, in order. */
  readonly steps: readonly SurvivalStep[];
  readonly n: number;
  /** How many are still open. */
  readonly open: number;
};

/**
 * The product-limit estimate (J Am Stat Assoc 1958;53:457-481), open ones censored, never dropped.
 * Times in any one unit. Throws on a time that is negative or endless.
 */
export function kaplanMeier(
  observations: readonly Observation[],
  { by = "log", confidence = 0.95 }: { readonly by?: LimitsBy; readonly confidence?: Confidence } = {},
): SurvivalCurve {
  const counted = countedTimes();
  for (const { time, observed } of observations) counted.add(time, observed);
  return counted.curve({ by, confidence });
}

export type CountedTimes = {
  /** So many things at once that waited equally long. */
  add(time: number, observed: boolean, times?: number): void;
  curve(options?: { readonly by?: LimitsBy; readonly confidence?: Confidence }): SurvivalCurve;
};

/** The same estimate from how many came, or are open, at each time. */
export function countedTimes(): CountedTimes {
  const [came, open] = [new Map<number, number>(), new Map<number, number>()];
  let [n, stillOpen] = [0, 0];
  return {
    add(time, observed, times = 1) {
      if (!(time >= 0 && time < Infinity)) throw new RangeError("A time is a finite number, 0 or more.");
      const counts = observed ? came : open;
      counts.set(time, (counts.get(time) ?? 0) + times);
      n += times;
      if (!observed) stillOpen += times;
    },
    curve({ by = "log", confidence = 0.95 } = {}) {
      const z = zOf(confidence);
      const steps: SurvivalStep[] = [];
      let [survival, greenwood, atRisk] = [1, 0, n];
      // Bare numbers sort many times faster than pairs.
      for (const time of Float64Array.from(new Set([...came.keys(), ...open.keys()])).sort()) {
        const events = came.get(time) ?? 0;
        survival *= (atRisk - events) / atRisk;
        if (events > 0) greenwood += events / (atRisk * (atRisk - events));
        const standardError = survival > 0 ? survival * Math.sqrt(greenwood) : null;
        steps.push({ time, atRisk, events, survival, standardError, ...limits(survival, greenwood, z, by) });
        atRisk -= events + (open.get(time) ?? 0);
      }
      return { steps, n, open: stillOpen };
    },
  };
}

/**
 * At most so many steps that show the same curve to the eye: evenly chosen, the last one kept, and each with the
 * events since the one before. For drawing and for tables; never for figures.
 */
export function thinned(steps: readonly SurvivalStep[], most: number): readonly SurvivalStep[] {
  if (steps.length <= most) return steps;
  let done = 0;
  return Array.from({ length: most }, (_, nth) => {
    const upTo = Math.round(((nth + 1) * steps.length) / most);
    const part = steps.slice(done, upTo);
    done = upTo;
    return part;
  }).flatMap((part) => {
    const [first, last] = [part.at(0), part.at(-1)];
    return first && last ? [{ ...last, atRisk: first.atRisk, events: part.reduce((sum, step) => sum + step.events, 0) }] : [];
  });
}

/** A time by which the share `p` had come, with limits; null where the curve does not get so far. */
export type SurvivalQuantile = { readonly estimate: number | null; readonly lower: number | null; readonly upper: number | null };

/**
 * The quantile `p` (0.5 the median) and its limits, by inverting the pointwise ones
 * (Brookmeyer and Crowley, Biometrics 1982;38:29-41), in the unit of the times. "Not reached" is
 * null, never the last time. Where a curve lies level at exactly 1 − p, the middle of that level,
 * as R's `survfit` has it. Throws unless 0 < p < 1.
 */
export function survivalQuantile({ steps }: SurvivalCurve, p: number): SurvivalQuantile {
  if (!(p > 0 && p < 1)) throw new RangeError("A quantile lies between 0 and 1.");
  return {
    estimate: firstDownTo(steps, 1 - p, (step) => step.survival),
    lower: firstDownTo(steps, 1 - p, (step) => step.lower),
    upper: firstDownTo(steps, 1 - p, (step) => step.upper),
  };
}

function limits(survival: number, greenwood: number, z: number, by: LimitsBy): Pick<SurvivalStep, "lower" | "upper"> {
  if (survival === 0 || greenwood === 0) return { lower: null, upper: null };
  const spread = z * Math.sqrt(greenwood);
  switch (by) {
    case "plain":
      return { lower: Math.max(0, survival - spread * survival), upper: Math.min(1, survival + spread * survival) };
    case "log":
      return { lower: survival * Math.exp(-spread), upper: Math.min(1, survival * Math.exp(spread)) };
    case "log-log": {
      const turn = spread / Math.log(survival);
      return { lower: survival ** Math.exp(-turn), upper: survival ** Math.exp(turn) };
    }
  }
}

/** The square root of the machine's precision, as R compares curves with a level. */
const LEVEL_TOLERANCE = Math.sqrt(Number.EPSILON);

function firstDownTo(steps: readonly SurvivalStep[], level: number, curve: (step: SurvivalStep) => number | null): number | null {
  const at = steps.findIndex((step) => isDown(curve(step), level));
  const [first, height] = [steps[at], steps[at] ? curve(steps[at]) : null];
  if (!first || height === null) return null;
  if (Math.abs(height - level) >= LEVEL_TOLERANCE) return first.time;
  const next = steps.slice(at).find((step) => isDown(curve(step), level) && (curve(step) ?? height) < height);
  return next ? (first.time + next.time) / 2 : first.time;
}

const isDown = (height: number | null, level: number): boolean => height !== null && height < level + LEVEL_TOLERANCE;
