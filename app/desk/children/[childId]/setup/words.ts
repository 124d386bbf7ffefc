import "server-only";
import type { SetupLabel } from "@/app/ui/schematic/setup-schematic";
import { ACTIVATIONS, BREATHS, MOVEMENTS, PROP_KINDS, PROP_PLACES, TOP_ARM_POSITIONS } from "@/lib/domain/setup/exercise";
import { opposite, SIDES, type Side } from "@/lib/domain/sides";
import { say } from "@/lib/messages/say";

const PLAIN = [
  "lieOn", "prop", "propSide", "propPlace", "topArm", "also", "breath", "breatheInto", "movement", "activation", "items", "itemsHint",
  "apexSpot", "apexSpotHint", "reason", "drawn", "impossible", "chooseAgain",
] as const;
const LISTS = {
  sideIs: SIDES, propIs: ["none", ...PROP_KINDS], placeIs: PROP_PLACES, armIs: TOP_ARM_POSITIONS, breathIs: BREATHS,
  breatheIntoIs: ["none"], movementIs: MOVEMENTS, activationIs: ["none", ...ACTIVATIONS],
} as const;

/** The pickers' words by key; they run in the browser and cannot read the catalogue. */
export function pickerWords(): Readonly<Record<string, string>> {
  const t = say("desk");
  const keys = [...PLAIN, ...Object.entries(LISTS).flatMap(([list, members]) => members.map((member) => `${list}.${member}`))];
  return Object.fromEntries(keys.map((key) => [key, t(`setup.${key}`)]));
}

/** The drawing's words for either side down; the breath's side is said by its picker. */
export function drawingLabels(): Readonly<Record<Side, SetupLabel>> {
  const t = say("desk");
  const label = (side: Side): SetupLabel => ({
    title: t("families.setupTitle"), desc: t("families.setupDesc", { side }), down: t("families.down", { side }), up: t("families.up", { side: opposite(side) }),
  });
  return { left: label("left"), right: label("right") };
}
