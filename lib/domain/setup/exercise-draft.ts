import type { Region } from "@/lib/domain/curve/region";
import type {
  Activation, BottomArmPosition, BottomLegPosition, Breath, CurveSide, Movement, PropKind, PropPlace, TopArmPosition, TopLegPosition,
} from "@/lib/domain/setup/exercise";
import type { Evidence, Phase, View } from "@/lib/domain/setup/vocabulary";

/** What must be chosen before a version can be saved is null while it is open; "none" is a choice. */
export type ItemDraft = {
  readonly key: string;
  readonly title: string;
  readonly phase: Phase | null;
  readonly evidence: readonly Evidence[];
  readonly views: readonly View[];
  readonly isStop: boolean;
  readonly requiredForGo: boolean;
  readonly sideDependent: boolean;
};

export type RuleDraft = {
  readonly key: string;
  readonly coverage: "covered" | "adapted" | null;
  readonly when: Readonly<Record<Region, "curve" | "none" | null>>;
  readonly opposite: readonly (readonly [Region, Region])[];
  readonly lieOn: CurveSide | null;
  readonly propKind: PropKind | "none" | null;
  readonly propPlace: PropPlace | null;
  readonly topArm: TopArmPosition | null;
  readonly bottomArm: BottomArmPosition | null;
  readonly topLeg: TopLegPosition | null;
  readonly bottomLeg: BottomLegPosition | null;
  readonly breath: Breath | null;
  readonly breatheInto: CurveSide | "none" | null;
  readonly movement: Movement | null;
  readonly activation: Activation | "none" | null;
  /** Item keys. */
  readonly items: readonly string[];
};

/** An exercise as it stands in the form: everything typed and picked so far. */
export type ExerciseDraft = {
  readonly title: string;
  readonly cautions: readonly string[];
  readonly phases: readonly Phase[];
  /** NaN while it is no number. */
  readonly dose: { readonly breaths: number; readonly times: number };
  readonly items: readonly ItemDraft[];
  readonly rules: readonly RuleDraft[];
};
