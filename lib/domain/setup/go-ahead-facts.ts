import type { JudgedItem, SidesInForce } from "@/lib/domain/ledger/judged";
import type { ResolvedItem } from "@/lib/domain/setup/resolve";
import type { Coverage, Phase } from "@/lib/domain/setup/vocabulary";

/** What the go-ahead needs to know of a resolved item. */
export type GoAheadItem = Pick<ResolvedItem, "key" | "phase" | "requiredForGo" | "isStop" | "sideDependent">;

export type SymptomTier = "urgent" | "today";

/** Everything one go-ahead rests on, for one child and one exercise. Instants are UTC milliseconds. */
export type GoAheadFacts = {
  readonly exerciseKey: string;
  /** The current curve record. `reassessBy` is the end of that local day, or null when none is set. */
  readonly record: { readonly id: string; readonly reassessBy: number | null } | null;
  /** The newest set-up; `confirmedAt` null while only proposed. */
  readonly setup: {
    readonly confirmedAt: number | null;
    readonly confirmedBy: string | null;
    readonly recordId: string;
    readonly coverage: Coverage;
    /** In checklist order. */
    readonly items: readonly GoAheadItem[];
    /** The phases that exist for this child. */
    readonly phases: readonly Phase[];
    readonly sides: SidesInForce;
  } | null;
  /** The rules refuse this record and no individual set-up stands in for them. */
  readonly notCovered: boolean;
  readonly phasesOpened: readonly { readonly phase: Phase; readonly openedAt: number; readonly openedBy: string }[];
  readonly verdicts: readonly JudgedItem[];
  /** All of the child's, whatever exercise they were reported with. */
  readonly symptomStops: readonly {
    readonly id: string;
    readonly tier: SymptomTier;
    readonly reportedAt: number;
    readonly clearedAt: number | null;
  }[];
  /** `exerciseKey` null stops every exercise. */
  readonly staffStops: readonly {
    readonly id: string;
    readonly placedAt: number;
    readonly placedBy: string;
    readonly liftedAt: number | null;
    readonly exerciseKey: string | null;
  }[];
  readonly photoConsent: "given" | "withdrawn" | "never";
  /** Weeks without a verdict after which a new photo comes first (practice setting, default 8). */
  readonly photoWeeks: number;
};
