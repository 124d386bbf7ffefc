import {
  ACTIVATIONS, BREATHS, MOVEMENTS, PROP_KINDS, PROP_PLACES, TOP_ARM_POSITIONS,
} from "@/lib/domain/setup/exercise";
import type { IndividualDraft } from "@/lib/domain/setup/individual";
import { SIDES } from "@/lib/domain/sides";

export type Fields = Readonly<Record<string, string>>;

const one = <T extends string>(list: readonly T[], value: string | undefined): T | null => list.find((each) => each === value) ?? null;

/** Null while a picker that has no "none" is open; the two sides down stay null in the draft and are refused by the check. */
export function individualOf(fields: Fields): IndividualDraft | null {
  const [kind, side, place] = [one(PROP_KINDS, fields["propKind"]), one(SIDES, fields["propSide"]), one(PROP_PLACES, fields["propPlace"])];
  const [topArm, breath, movement] = [one(TOP_ARM_POSITIONS, fields["topArm"]), one(BREATHS, fields["breath"]), one(MOVEMENTS, fields["movement"])];
  const hasProp = fields["propKind"] !== "none";
  const isOpen = (hasProp && (!kind || !side || !place)) || !fields["breatheInto"] || !fields["activation"];
  if (!topArm || !breath || !movement || isOpen) return null;
  return {
    lieOn: one(SIDES, fields["lieOn"]),
    lieOnAgain: one(SIDES, fields["lieOnAgain"]),
    prop: hasProp && kind && side && place ? { kind, side, place } : null,
    topArm,
    bottomArm: "long-palm-down",
    topLeg: "straight",
    bottomLeg: "knee-bent",
    breatheInto: one(SIDES, fields["breatheInto"]),
    breath,
    movement,
    activation: one(ACTIVATIONS, fields["activation"]),
    items: Object.keys(fields).filter((name) => name.startsWith("item:") && fields[name] === "yes").map((name) => name.slice(5)),
    reason: fields["reason"] ?? "",
  };
}
