import { patternOf, type CurveRecord } from "@/lib/domain/curve/record";
import { serialiseMarks } from "@/lib/domain/marks/marks";
import { photoPoint } from "@/lib/domain/marks/geometry";
import type { Exercise } from "@/lib/domain/setup/exercise";
import { checkIndividualSetup } from "@/lib/domain/setup/individual";
import { resolve, type CoveredResolution } from "@/lib/domain/setup/resolve";
import { sidesKey } from "@/lib/domain/setup/setup-sides";
import { SIDE_LYING } from "@/lib/domain/setup/side-lying";
import type { Side } from "@/lib/domain/sides";
import { curve, NONE, RECORD } from "@/tests/domain/curve-record-scene";

const double = (thoracic: Side, lumbar: Side): CurveRecord => ({ ...RECORD, regions: { ...RECORD.regions, thoracic: curve(thoracic, "T8"), lumbar: curve(lumbar, "L2") } });

/** The shipped exercise, and two that a therapist wrote after it. The commonest first. */
export const EXERCISES: readonly Exercise[] = [SIDE_LYING, ...["kneeling-reach", "wall-stand"].map((key) => ({ ...SIDE_LYING, key, titleKey: key, version: 1 }))];

export type Kind = {
  readonly record: string;
  readonly patternKey: string;
  /** The rules' set-up, or a therapist's own where they have none: the same for each exercise, for all have the same rules. */
  readonly setup: { readonly kind: "rule" | "individual"; readonly resolution: string; readonly sidesKey: string };
  /** Those a photo of the position is judged by. */
  readonly items: CoveredResolution["items"];
};

/** The commonest first. The last has no rule: its children have a set-up of their own. */
export const KINDS: readonly [Kind, ...Kind[]] = [
  kindOf(RECORD),
  ...[
    { ...RECORD, regions: { ...RECORD.regions, thoracic: NONE } }, double("left", "right"),
    { ...RECORD, regions: { ...RECORD.regions, thoracic: NONE, lumbar: curve("right", "L2") } }, { ...RECORD, regions: { ...RECORD.regions, lumbar: NONE } },
  ].map(kindOf),
];

function kindOf(record: CurveRecord): Kind {
  const ruled = resolve(SIDE_LYING, record);
  const resolution = ruled.coverage === "not-covered" ? individual() : ruled;
  return {
    record: JSON.stringify(record), patternKey: patternOf(record).key, items: resolution.items.filter((item) => item.phase === "position"),
    setup: { kind: ruled.coverage === "not-covered" ? "individual" : "rule", resolution: JSON.stringify(resolution), sidesKey: sidesKey(resolution.setup) },
  };
}

function individual(): CoveredResolution {
  const checked = checkIndividualSetup({
    lieOn: "left", lieOnAgain: "left", prop: { kind: "folded-towel", side: "left", place: "ribs" }, topArm: "up", bottomArm: "long-palm-down", topLeg: "straight",
    bottomLeg: "knee-bent", breatheInto: "right", breath: "widen-upper-back", movement: "leg-reach", activation: null,
    items: SIDE_LYING.items.filter((item) => item.phase === "position").map((item) => item.key).concat("leg-reach"), reason: "Agreed at the visit.",
  }, SIDE_LYING);
  if (!checked.ok) throw new Error(checked.problem.code);
  return checked.value;
}

/** What a therapist draws into one photo of an answer. */
export const MARKED = serialiseMarks([{ kind: "ring", id: "a", itemKey: "stacked", center: photoPoint(0.5, 0.5), radiusX: 0.1, radiusY: 0.08 }]);
