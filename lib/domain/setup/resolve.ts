import { isCounted, type CurveRecord } from "@/lib/domain/curve/record";
import { REGIONS, type Region } from "@/lib/domain/curve/region";
import type {
  Activation, Breath, CurveSide, Dose, Exercise, ExerciseItem, Movement, Variation,
} from "@/lib/domain/setup/exercise";
import { mirrorSetup, type SetupSides } from "@/lib/domain/setup/setup-sides";
import type { Phase } from "@/lib/domain/setup/vocabulary";
import { opposite, type Side } from "@/lib/domain/sides";

export type ResolvedItem = ExerciseItem;

/** Why the rules refuse one. Worded in the exercise messages under `coverage`. */
export const NOT_COVERED_REASONS = [
  "no-record", "not-assessed", "curve-not-counted", "no-curve", "proximal-thoracic-alone", "thoracic-alone",
  "thoracolumbar-alone", "lumbar-only", "same-side", "other-curves", "three-curves",
] as const;
export type NotCoveredReason = (typeof NOT_COVERED_REASONS)[number];

export type CoveredResolution = {
  readonly coverage: "covered" | "adapted";
  /** The key of the variation that fits, or `individual`: written by a therapist for one child. */
  readonly variation: string;
  readonly setup: SetupSides;
  readonly breath: Breath;
  readonly movement: Movement;
  readonly activation: Activation | null;
  /** In checklist order. */
  readonly items: readonly ResolvedItem[];
  readonly phases: readonly Phase[];
  readonly dose: Dose;
};

export type Resolution =
  | CoveredResolution
  | { readonly coverage: "not-covered"; readonly reasons: readonly NotCoveredReason[] };

/**
 * The exercise resolved for one curve record, or the reasons why its rules do not cover it.
 * Refuses, never guesses: a region not assessed never counts as none, and a curve that has not the
 * therapist's word where it needs it never counts as a curve. Whether the record is still current
 * is for the go-ahead to say.
 */
export function resolve(exercise: Exercise, record: CurveRecord | null): Resolution {
  if (record === null) return { coverage: "not-covered", reasons: ["no-record"] };
  const unsure = [
    ...(REGIONS.some((region) => record.regions[region].state === "not-assessed") ? ["not-assessed" as const] : []),
    ...(REGIONS.some((region) => !isCounted(record, region)) ? ["curve-not-counted" as const] : []),
  ];
  if (unsure.length > 0) return { coverage: "not-covered", reasons: unsure };
  const fitting = fittingVariations(exercise, record);
  const [variation] = fitting;
  // Two variations that both fit would be a choice, and nobody here may choose.
  if (variation === undefined || fitting.length > 1) return { coverage: "not-covered", reasons: [refusal(record)] };
  return resolveVariation(exercise, variation, record);
}

/** Every variation whose condition a record with all regions assessed meets; more than one is a mistake of the exercise. */
export const fittingVariations = (exercise: Pick<Exercise, "variations">, record: CurveRecord): readonly Variation[] =>
  exercise.variations.filter((variation) => fits(variation, record));

const convexSide = (record: CurveRecord, region: Region): Side | null => {
  const finding = record.regions[region];
  return finding.state === "curve" ? finding.convexSide : null;
};

const fits = ({ when, opposite: pairs }: Variation, record: CurveRecord): boolean =>
  REGIONS.every((region) => record.regions[region].state === when[region]) &&
  pairs.every(([one, other]) => {
    const [first, second] = [convexSide(record, one), convexSide(record, other)];
    return first !== null && second !== null && first === opposite(second);
  });

/** Throws when the exercise names a curve its own condition leaves out; the schema refuses such an exercise. */
function sideOf(rule: CurveSide, record: CurveRecord): Side {
  const region = REGIONS.find((each) => rule === `${each}-convex` || rule === `${each}-concave`);
  const convex = region === undefined ? null : convexSide(record, region);
  if (convex === null) throw new RangeError("the rule names a curve that is not there");
  return rule.endsWith("-convex") ? convex : opposite(convex);
}

function resolveVariation(exercise: Exercise, variation: Variation, record: CurveRecord): CoveredResolution {
  const lieOn = sideOf(variation.lieOn, record);
  const top = opposite(lieOn);
  return {
    coverage: variation.coverage,
    variation: variation.key,
    setup: {
      lieOn,
      prop: variation.prop && { ...variation.prop, side: lieOn },
      topArm: { side: top, position: variation.topArm },
      bottomArm: { side: lieOn, position: variation.bottomArm },
      topLeg: { side: top, position: variation.topLeg },
      bottomLeg: { side: lieOn, position: variation.bottomLeg },
      breatheInto: variation.breatheInto && { side: sideOf(variation.breatheInto, record) },
    },
    breath: variation.breath,
    movement: variation.movement,
    activation: variation.activation,
    items: exercise.items.filter((item) => variation.items.includes(item.key)),
    phases: exercise.phases.filter((phase) => variation.phases.includes(phase)),
    dose: exercise.dose,
  };
}

/** Why a record in which every region is known fits no variation. */
function refusal(record: CurveRecord): NotCoveredReason {
  const curves = REGIONS.flatMap((region) => {
    const side = convexSide(record, region);
    return side === null ? [] : [{ region, side }];
  });
  const [first, second, third] = curves;
  if (first === undefined) return "no-curve";
  if (second === undefined) return first.region === "lumbar" ? "lumbar-only" : `${first.region}-alone`;
  if (third !== undefined) return "three-curves";
  return first.side === second.side ? "same-side" : "other-curves";
}

export const mirrorResolution = (resolution: Resolution): Resolution =>
  resolution.coverage === "not-covered" ? resolution : { ...resolution, setup: mirrorSetup(resolution.setup) };
