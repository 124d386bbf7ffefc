import type { CurveRecord } from "@/lib/domain/curve/record";
import { REGIONS, type Region } from "@/lib/domain/curve/region";
import type {
  BottomArmPosition, BottomLegPosition, Dose, Exercise, ExerciseItem, PropKind, PropPlace, SideRule, TopArmPosition, TopLegPosition, Variation,
} from "@/lib/domain/setup/exercise";
import type { Phase } from "@/lib/domain/setup/vocabulary";
import { opposite, type Side } from "@/lib/domain/sides";

export type ResolvedItem = ExerciseItem;
type Placed<P extends string> = { readonly side: Side; readonly position: P };

/** An exercise's set-up for one child, in the child's own left and right. */
export type SetupSides = {
  readonly lieOn: Side;
  readonly prop: { readonly kind: PropKind; readonly place: PropPlace; readonly side: Side };
  readonly topArm: Placed<TopArmPosition>;
  readonly bottomArm: Placed<BottomArmPosition>;
  readonly topLeg: Placed<TopLegPosition>;
  readonly bottomLeg: Placed<BottomLegPosition>;
  /** The ribs to widen; null where no side is named. */
  readonly breatheInto: { readonly side: Side } | null;
};

export type CoveredResolution = {
  readonly coverage: "covered" | "adapted";
  /** Which documented variation, or "individual". */
  readonly variation: string;
  readonly setup: SetupSides;
  readonly phases: readonly Phase[];
  /** In checklist order. */
  readonly items: readonly ResolvedItem[];
  readonly dose: Dose;
};

export const REFUSALS = ["no-record", "not-assessed", "no-curve", "same-side", "pattern-not-taught"] as const;
export type Refusal = (typeof REFUSALS)[number];

export type Resolution =
  | CoveredResolution
  | { readonly coverage: "not-covered"; readonly reasons: readonly { readonly code: Refusal; readonly region?: Region }[] };

/**
 * The set-up of an exercise for a curve record, or why there is none. Never guesses: a region that
 * was not assessed fits no variation, and a pattern that no variation names is refused.
 */
export function resolve(exercise: Exercise, record: CurveRecord | null): Resolution {
  if (record === null) return { coverage: "not-covered", reasons: [{ code: "no-record" }] };
  const variation = exercise.variations.find((each) => fits(each, record) && isOpposed(each, record));
  return variation ? resolved(exercise, variation, record) : { coverage: "not-covered", reasons: refusals(exercise, record) };
}

const fits = (variation: Variation, record: CurveRecord): boolean =>
  REGIONS.every((region) => record.regions[region].state === variation.regions[region]);

const isOpposed = (variation: Variation, record: CurveRecord): boolean =>
  variation.opposed.every(([a, b]) => convexSide(record, a) === opposite(convexSide(record, b)));

/** Throws for a region without a curve; `fits` was asked first. */
function convexSide(record: CurveRecord, region: Region): Side {
  const finding = record.regions[region];
  if (finding.state !== "curve") throw new Error("a side was asked of a region without a curve");
  return finding.convexSide;
}

function sideOf(rule: SideRule, record: CurveRecord): Side {
  const convex = convexSide(record, rule.region);
  return rule.is === "convex" ? convex : opposite(convex);
}

function resolved(exercise: Exercise, variation: Variation, record: CurveRecord): CoveredResolution {
  const lieOn = sideOf(variation.lieOn, record);
  return {
    coverage: variation.coverage,
    variation: variation.key,
    setup: {
      ...lying(lieOn, variation),
      breatheInto: variation.breatheInto && { side: sideOf(variation.breatheInto, record) },
    },
    phases: variation.phases,
    items: exercise.items.filter((item) => variation.items.includes(item.key)),
    dose: exercise.dose,
  };
}

type Positions = Pick<Variation, "prop" | "topArm" | "bottomArm" | "topLeg" | "bottomLeg">;

/** Every side of a side-lying set-up follows from the side that is down. */
export function lying(lieOn: Side, positions: Positions): Omit<SetupSides, "breatheInto"> {
  const up = opposite(lieOn);
  return {
    lieOn,
    prop: { ...positions.prop, side: lieOn },
    topArm: { side: up, position: positions.topArm },
    bottomArm: { side: lieOn, position: positions.bottomArm },
    topLeg: { side: up, position: positions.topLeg },
    bottomLeg: { side: lieOn, position: positions.bottomLeg },
  };
}

function refusals(exercise: Exercise, record: CurveRecord): readonly { readonly code: Refusal; readonly region?: Region }[] {
  const open = REGIONS.filter((region) => record.regions[region].state === "not-assessed");
  if (open.length > 0) return open.map((region) => ({ code: "not-assessed", region }));
  if (REGIONS.every((region) => record.regions[region].state === "none")) return [{ code: "no-curve" }];
  return [{ code: exercise.variations.some((each) => fits(each, record)) ? "same-side" : "pattern-not-taught" }];
}

export function mirrorResolution(resolution: Resolution): Resolution {
  if (resolution.coverage === "not-covered") return resolution;
  const { setup } = resolution;
  const other = <T extends { readonly side: Side }>(placed: T): T => ({ ...placed, side: opposite(placed.side) });
  return {
    ...resolution,
    setup: {
      lieOn: opposite(setup.lieOn),
      prop: other(setup.prop),
      topArm: other(setup.topArm),
      bottomArm: other(setup.bottomArm),
      topLeg: other(setup.topLeg),
      bottomLeg: other(setup.bottomLeg),
      breatheInto: setup.breatheInto && other(setup.breatheInto),
    },
  };
}

/** Equal for two set-ups exactly when a child would be laid the same way in both. */
export function sidesKey(setup: SetupSides): string {
  const { lieOn, prop, topArm, bottomArm, topLeg, bottomLeg, breatheInto } = setup;
  const placed = [topArm, bottomArm, topLeg, bottomLeg].map(({ side, position }) => `${side}:${position}`);
  return [lieOn, `${prop.side}:${prop.kind}:${prop.place}`, ...placed, breatheInto?.side ?? "-"].join("|");
}
