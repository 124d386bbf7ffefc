import type { CurveRecord, Finding } from "@/lib/domain/curve/record";
import { apexesOf, REGIONS, type Region } from "@/lib/domain/curve/region";
import type { Exercise } from "@/lib/domain/setup/exercise";
import { resolve, type CoveredResolution, type NotCoveredReason } from "@/lib/domain/setup/resolve";

export const REGION_STATES = ["left", "right", "none", "not-assessed"] as const;
export type RegionState = (typeof REGION_STATES)[number];
export type PatternStates = Readonly<Record<Region, RegionState>>;

/** Every pattern there can be: 4 regions in 4 states, 256. */
export const ALL_PATTERNS: readonly PatternStates[] = REGION_STATES.flatMap((proximal) =>
  REGION_STATES.flatMap((thoracic) =>
    REGION_STATES.flatMap((thoracolumbar) =>
      REGION_STATES.map((lumbar) => ({ "proximal-thoracic": proximal, thoracic, thoracolumbar, lumbar })))));

/** A record of one pattern, every curve large enough to count. For trying an exercise out; nobody's record. */
export const recordOfPattern = (states: PatternStates): CurveRecord => ({
  assessedOn: "2000-01-01",
  source: "radiograph",
  filmViewedFrom: "behind",
  regions: {
    "proximal-thoracic": findingOf("proximal-thoracic", states["proximal-thoracic"]),
    thoracic: findingOf("thoracic", states.thoracic),
    thoracolumbar: findingOf("thoracolumbar", states.thoracolumbar),
    lumbar: findingOf("lumbar", states.lumbar),
  },
  prominence: { ribs: "not-looked", lowBack: "not-looked" },
  reassessBy: null,
  therapistCounts: REGIONS,
});

function findingOf(region: Region, state: RegionState): Finding {
  if (state === "none" || state === "not-assessed") return { state };
  const [apex] = apexesOf(region);
  if (apex === undefined) throw new RangeError("a region has no apex");
  return { state: "curve", convexSide: state, apex, cobbDegrees: null };
}

/** One set-up and the patterns that get it. */
export type ResolvedSetup = { readonly resolution: CoveredResolution; readonly patterns: readonly PatternStates[] };
export type CoveredRow = { readonly variation: string; readonly coverage: "covered" | "adapted"; readonly setups: readonly ResolvedSetup[] };
export type RefusedRow = { readonly reasons: readonly NotCoveredReason[]; readonly patterns: readonly PatternStates[] };

/** An exercise tried on every pattern at once: what each rule gives, and what is refused and why. Every pattern is in one row. */
export function resolveAll(exercise: Exercise): { readonly covered: readonly CoveredRow[]; readonly refused: readonly RefusedRow[] } {
  const tried = ALL_PATTERNS.map((states) => ({ states, resolution: resolve(exercise, recordOfPattern(states)) }));
  const covered = exercise.variations.flatMap(({ key, coverage }): CoveredRow[] => {
    const own = tried.flatMap(({ states, resolution }) =>
      resolution.coverage !== "not-covered" && resolution.variation === key ? [{ states, resolution }] : []);
    const setups = grouped(own, ({ resolution }) => JSON.stringify(resolution.setup));
    return setups.length === 0 ? [] : [{
      variation: key, coverage, setups: setups.map(([first, ...rest]) => ({ resolution: first.resolution, patterns: [first, ...rest].map((each) => each.states) })),
    }];
  });
  const without = tried.flatMap(({ states, resolution }) => (resolution.coverage === "not-covered" ? [{ states, reasons: resolution.reasons }] : []));
  return {
    covered,
    refused: grouped(without, ({ reasons }) => reasons.join(" "))
      .map(([first, ...rest]) => ({ reasons: first.reasons, patterns: [first, ...rest].map((each) => each.states) })),
  };
}

function grouped<T>(all: readonly T[], by: (one: T) => string): readonly (readonly [T, ...T[]])[] {
  const groups = new Map<string, [T, ...T[]]>();
  for (const one of all) {
    const there = groups.get(by(one));
    if (there) there.push(one);
    else groups.set(by(one), [one]);
  }
  return [...groups.values()];
}
