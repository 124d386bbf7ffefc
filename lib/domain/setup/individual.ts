import {
  type Activation, type BottomArmPosition, type BottomLegPosition, type Breath, type Exercise, type ExerciseItem, type Movement,
  type PropKind, type PropPlace, type TopArmPosition, type TopLegPosition,
} from "@/lib/domain/setup/exercise";
import type { CoveredResolution } from "@/lib/domain/setup/resolve";
import { isPossible, type SetupSides } from "@/lib/domain/setup/setup-sides";
import { refuse, ok, type Result } from "@/lib/domain/result";
import { opposite, type Side } from "@/lib/domain/sides";

/** What a therapist picks for a child whom the rules do not cover. Arms and legs follow from the side down. */
export type IndividualDraft = {
  readonly lieOn: Side | null;
  /** Chosen a second time, by itself. */
  readonly lieOnAgain: Side | null;
  /** `side` is picked too: a prop that is not under the side down is a slip, and is refused. */
  readonly prop: { readonly kind: PropKind; readonly side: Side; readonly place: PropPlace } | null;
  readonly topArm: TopArmPosition;
  readonly bottomArm: BottomArmPosition;
  readonly topLeg: TopLegPosition;
  readonly bottomLeg: BottomLegPosition;
  readonly breatheInto: Side | null;
  readonly breath: Breath;
  readonly movement: Movement;
  readonly activation: Activation | null;
  /** Keys of the exercise's items; its stop items that apply are in whether picked or not. */
  readonly items: readonly string[];
  /** Why the rules do not do for this child; kept beside the set-up. */
  readonly reason: string;
};

const REASON_LENGTH = 10;

/**
 * A therapist's own set-up for one child, held together so that no item asks for what the set-up
 * does not have. Refused: `side-not-read-back`, `reason-missing`, `setup-inconsistent` (the prop or
 * the breath contradicts the rest), `form-invalid` (an item the exercise does not have).
 */
export function checkIndividualSetup(draft: IndividualDraft, exercise: Exercise): Result<CoveredResolution> {
  const { lieOn } = draft;
  if (lieOn === null) return refuse("record-incomplete", { field: "lieOn" });
  if (draft.lieOnAgain !== lieOn) return refuse("side-not-read-back", { field: "lieOnAgain" });
  if (draft.reason.trim().length < REASON_LENGTH) return refuse("reason-missing", { field: "reason" });
  const setup = individualSides(draft, lieOn);
  if (!isPossible(setup)) return refuse("setup-inconsistent", { field: "prop" });
  if ((draft.breath === "widen-upper-back") !== (draft.breatheInto !== null)) {
    return refuse("setup-inconsistent", { field: "breatheInto" });
  }
  if (draft.topArm !== "up" && (draft.movement === "blade-slide-and-leg-reach" || draft.activation !== null)) {
    return refuse("setup-inconsistent", { field: "topArm" });
  }
  if (draft.items.some((key) => !exercise.items.some((item) => item.key === key))) {
    return refuse("form-invalid", { field: "items" });
  }
  const items = exercise.items.filter(
    (item) => !isAbsent(item, draft) && (item.isStop || draft.items.includes(item.key)),
  );
  // A phase without an item would be opened with nothing to judge it by: it does not exist.
  const phases = exercise.phases.filter((phase) => items.some((item) => item.phase === phase));
  if ((draft.activation !== null) !== phases.includes("activation")) return refuse("setup-inconsistent", { field: "items" });
  return ok({
    coverage: "adapted",
    variation: "individual",
    setup,
    breath: draft.breath,
    movement: draft.movement,
    activation: draft.activation,
    items,
    phases,
    dose: exercise.dose,
  });
}

/** The sides a draft asks for, possible or not: what is drawn while picking is what is checked and stored. */
export const individualSides = (draft: IndividualDraft, lieOn: Side): SetupSides => ({
  lieOn,
  prop: draft.prop,
  topArm: { side: opposite(lieOn), position: draft.topArm },
  bottomArm: { side: lieOn, position: draft.bottomArm },
  topLeg: { side: opposite(lieOn), position: draft.topLeg },
  bottomLeg: { side: lieOn, position: draft.bottomLeg },
  breatheInto: draft.breatheInto && { side: draft.breatheInto },
});

type Had = Pick<IndividualDraft, "topArm" | "movement" | "activation"> & { readonly prop: { readonly place: PropPlace } | null };

/** Whether an item asks for something that this set-up does not have. Known by key for the items that ship with the product. */
export function isAbsent(item: Pick<ExerciseItem, "key" | "phase">, { prop, topArm, movement, activation }: Had): boolean {
  if (item.phase === "activation" && activation === null) return true;
  return [
    ...(prop?.place === "low-back" ? [] : ["prop-low-back"]),
    ...(prop?.place === "ribs" ? [] : ["prop-ribs"]),
    ...(prop === null ? ["prop-apex-spot"] : []),
    ...(topArm === "up" ? [] : ["elbow-high", "armpit-open"]),
    ...(movement === "blade-slide-and-leg-reach" ? [] : ["shoulder-blade-forward"]),
  ].includes(item.key);
}
