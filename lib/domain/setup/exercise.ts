import type { Region } from "@/lib/domain/curve/region";
import type { Evidence, Phase, View } from "@/lib/domain/setup/vocabulary";

/** What lies under the child, and under what. */
export const PROP_KINDS = ["two-small-bags", "folded-towel"] as const;
export type PropKind = (typeof PROP_KINDS)[number];
export const PROP_PLACES = ["low-back", "ribs"] as const;
export type PropPlace = (typeof PROP_PLACES)[number];

/** `up`: elbow high, armpit open. `on-hip`: hand on the top hip, or the arm resting up. */
export const TOP_ARM_POSITIONS = ["up", "on-hip"] as const;
export type TopArmPosition = (typeof TOP_ARM_POSITIONS)[number];
export const BOTTOM_ARM_POSITIONS = ["long-palm-down"] as const;
export type BottomArmPosition = (typeof BOTTOM_ARM_POSITIONS)[number];
export const TOP_LEG_POSITIONS = ["straight"] as const;
export type TopLegPosition = (typeof TOP_LEG_POSITIONS)[number];
export const BOTTOM_LEG_POSITIONS = ["knee-bent"] as const;
export type BottomLegPosition = (typeof BOTTOM_LEG_POSITIONS)[number];

/** `widen-upper-back` is taught toward one side; `slow-ribs-wide` names none. */
export const BREATHS = ["widen-upper-back", "slow-ribs-wide"] as const;
export type Breath = (typeof BREATHS)[number];
export const MOVEMENTS = ["blade-slide-and-leg-reach", "leg-reach"] as const;
export type Movement = (typeof MOVEMENTS)[number];
export const ACTIVATIONS = ["press-stool"] as const;
export type Activation = (typeof ACTIVATIONS)[number];

/** A side said by the curve, so that a rule can never name left or right. */
export type CurveSide = `${Region}-${"convex" | "concave"}`;

/** Set-up rules of one curve condition. Sides of arms and legs follow from `lieOn`: top is the other side. */
export type Variation = {
  readonly key: string;
  readonly coverage: "covered" | "adapted";
  /** What each region must be. No word for "not assessed": it never fits. */
  readonly when: Readonly<Record<Region, "curve" | "none">>;
  /** Pairs of regions whose convex sides must be opposite. */
  readonly opposite: readonly (readonly [Region, Region])[];
  readonly lieOn: CurveSide;
  /** Always under the side the child lies on. */
  readonly prop: { readonly kind: PropKind; readonly place: PropPlace } | null;
  readonly topArm: TopArmPosition;
  readonly bottomArm: BottomArmPosition;
  readonly topLeg: TopLegPosition;
  readonly bottomLeg: BottomLegPosition;
  readonly breatheInto: CurveSide | null;
  readonly breath: Breath;
  readonly movement: Movement;
  /** Null: the activation phase does not exist. */
  readonly activation: Activation | null;
  readonly phases: readonly Phase[];
  /** Item keys, in checklist order. */
  readonly items: readonly string[];
};

export type ExerciseItem = {
  readonly key: string;
  readonly phase: Phase;
  readonly requiredForGo: boolean;
  /** What can show it. */
  readonly evidence: readonly Evidence[];
  /** Views that show it. */
  readonly views: readonly View[];
  /** `fix` on it makes the go-ahead `stop`; it can never be `not-part`. */
  readonly isStop: boolean;
  /** Starts again when the set-up's sides change; false only for what looks the same on either side. */
  readonly sideDependent: boolean;
};

/** So many slow breaths, then rest; so many times. */
export type Dose = { readonly breaths: number; readonly times: number };

export type Exercise = {
  readonly key: string;
  readonly version: number;
  /** Under `title` in the exercise messages. */
  readonly titleKey: string;
  readonly phases: readonly Phase[];
  /** Every item the exercise knows, individual set-ups included, in checklist order. */
  readonly items: readonly ExerciseItem[];
  readonly variations: readonly Variation[];
  readonly dose: Dose;
};
