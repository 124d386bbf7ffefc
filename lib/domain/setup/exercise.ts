import type { Region } from "@/lib/domain/curve/region";
import type { Evidence, Phase, View } from "@/lib/domain/setup/vocabulary";

/** A side said in curve terms; left and right appear only once a record resolves it. */
export type SideRule = { readonly region: Region; readonly is: "convex" | "concave" };

export const TOP_ARM_POSITIONS = ["up-elbow-high", "on-hip-or-resting"] as const;
export const BOTTOM_ARM_POSITIONS = ["long-palm-down"] as const;
export const TOP_LEG_POSITIONS = ["straight"] as const;
export const BOTTOM_LEG_POSITIONS = ["knee-bent"] as const;
export const PROP_KINDS = ["two-small-bags", "one-small-bag", "none"] as const;
export const PROP_PLACES = ["low-back", "ribs"] as const;

export type TopArmPosition = (typeof TOP_ARM_POSITIONS)[number];
export type BottomArmPosition = (typeof BOTTOM_ARM_POSITIONS)[number];
export type TopLegPosition = (typeof TOP_LEG_POSITIONS)[number];
export type BottomLegPosition = (typeof BOTTOM_LEG_POSITIONS)[number];
export type PropKind = (typeof PROP_KINDS)[number];
export type PropPlace = (typeof PROP_PLACES)[number];

export type ExerciseItem = {
  readonly key: string;
  readonly phase: Phase;
  readonly requiredForGo: boolean;
  readonly evidence: readonly Evidence[];
  /** Views that can show it; empty means any. */
  readonly views: readonly View[];
  /** Its `fix` stops the child; it can never be "not part". */
  readonly isStop: boolean;
  /** Starts again when the set-up's sides change. */
  readonly sideDependent: boolean;
};

/** One documented way to do the exercise, and the curves it is for. */
export type Variation = {
  readonly key: string;
  readonly coverage: "covered" | "adapted";
  /** What every region must be found to be. "not assessed" fits neither. */
  readonly regions: Readonly<Record<Region, "curve" | "none">>;
  /** Pairs of regions whose curves must bulge to opposite sides. */
  readonly opposed: readonly (readonly [Region, Region])[];
  readonly lieOn: SideRule;
  readonly prop: { readonly kind: PropKind; readonly place: PropPlace };
  readonly topArm: TopArmPosition;
  readonly bottomArm: BottomArmPosition;
  readonly topLeg: TopLegPosition;
  readonly bottomLeg: BottomLegPosition;
  readonly breatheInto: SideRule | null;
  readonly phases: readonly Phase[];
  readonly items: readonly string[];
};

export type Dose = { readonly breaths: number; readonly times: number };

export type Exercise = {
  readonly key: string;
  readonly version: number;
  readonly dose: Dose;
  readonly items: readonly ExerciseItem[];
  readonly variations: readonly Variation[];
};
