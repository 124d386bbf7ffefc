import "server-only";
import type { CoveredResolution } from "@/lib/domain/setup/resolve";
import type { Phase } from "@/lib/domain/setup/vocabulary";
import type { Reader } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";

type Setup = { readonly resolution: CoveredResolution; readonly apexSpot: string };

/** Side and prop: never folded away. */
export function sideAndProp({ resolution: { setup }, apexSpot }: Setup, reader: Reader): readonly string[] {
  const exercise = say("exercise", reader);
  return [
    exercise("setup.lieOn", { side: setup.lieOn }),
    setup.prop ? exercise(`setup.prop.${setup.prop.kind}.${setup.prop.place}`, { side: setup.prop.side }) : exercise("setup.prop.none"),
    ...(apexSpot ? [exercise("setup.apexSpot", { spot: apexSpot })] : []),
  ];
}

export function limbs({ resolution: { setup } }: Setup, reader: Reader): readonly string[] {
  const exercise = say("exercise", reader);
  return (["bottomArm", "topArm", "bottomLeg", "topLeg"] as const)
    .map((limb) => exercise(`setup.${limb}.${setup[limb].position}`, { side: setup[limb].side }));
}

/** What is done in the set-up, each line with the phase that teaches it. */
export function doing({ resolution }: Setup, reader: Reader): readonly { readonly phase: Phase; readonly text: string }[] {
  const exercise = say("exercise", reader);
  const { setup, breath, movement, activation, dose } = resolution;
  return [
    { phase: "breath", text: exercise(`setup.breath.${breath}`, { side: setup.breatheInto?.side ?? "none" }) },
    { phase: "movement", text: exercise(`setup.movement.${movement}`, { side: setup.topLeg.side }) },
    ...(activation ? [{ phase: "activation" as const, text: exercise(`setup.activation.${activation}`, { side: setup.topArm.side }) }] : []),
    { phase: "breath", text: exercise("setup.dose", { breaths: dose.breaths, times: dose.times }) },
  ];
}
