import type { Exercise, PropKind, PropPlace, TopArmPosition } from "@/lib/domain/setup/exercise";
import { lying, type CoveredResolution } from "@/lib/domain/setup/resolve";
import { PHASES } from "@/lib/domain/setup/vocabulary";
import { refuse, ok, type Result } from "@/lib/domain/result";
import type { Side } from "@/lib/domain/sides";

/** What a therapist picks for a child whom the rules do not cover. The rest follows from the side down. */
export type IndividualDraft = {
  readonly lieOn: Side;
  /** Chosen a second time, by itself. */
  readonly lieOnAgain: Side;
  readonly propKind: PropKind;
  readonly propPlace: PropPlace;
  readonly topArm: TopArmPosition;
  readonly breatheInto: Side | null;
  readonly items: readonly string[];
  readonly reason: string;
};

const REASON_LENGTH = 10;
const PROP_ITEMS = ["prop-low-back", "prop-apex-spot"];
const ARM_ITEMS = ["elbow-high", "armpit-open", "shoulder-blade-forward", "stool-steady", "stool-press"];

/**
 * A therapist's own set-up for one child, held together so that no item asks for what the set-up
 * does not have. Every stop item that applies is in it, whether picked or not.
 */
export function checkIndividualSetup(draft: IndividualDraft, exercise: Exercise): Result<CoveredResolution> {
  if (draft.lieOn !== draft.lieOnAgain) return refuse("side-not-read-back", { field: "lieOnAgain" });
  if (draft.reason.trim().length < REASON_LENGTH) return refuse("reason-missing", { field: "reason" });
  const isUnderLowBack = draft.propKind !== "none" && draft.propPlace === "low-back";
  const absent = [...(isUnderLowBack ? [] : PROP_ITEMS), ...(draft.topArm === "up-elbow-high" ? [] : ARM_ITEMS)];
  const items = exercise.items.filter(
    (item) => !absent.includes(item.key) && (item.isStop || draft.items.includes(item.key)),
  );
  const phases = PHASES.filter((phase) => items.some((item) => item.phase === phase));
  return ok({
    coverage: "adapted",
    variation: "individual",
    setup: {
      ...lying(draft.lieOn, {
        prop: { kind: draft.propKind, place: draft.propPlace },
        topArm: draft.topArm,
        bottomArm: "long-palm-down",
        topLeg: "straight",
        bottomLeg: "knee-bent",
      }),
      breatheInto: draft.breatheInto && { side: draft.breatheInto },
    },
    phases,
    items,
    dose: exercise.dose,
  });
}
