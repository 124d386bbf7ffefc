import "server-only";
import type { SetupLabel } from "@/app/ui/schematic/setup-schematic";
import type { Actor } from "@/lib/access/actor";
import { PROBLEM_CODES } from "@/lib/domain/problem";
import type { Reason } from "@/lib/domain/setup/go-ahead-reasons";
import type { Phase } from "@/lib/domain/setup/vocabulary";
import { opposite } from "@/lib/domain/sides";
import { formatDate, formatTime } from "@/lib/domain/time/format";
import catalogue from "@/lib/messages/en/family.json";
import problemSentences from "@/lib/messages/en/problems.json";
import { say } from "@/lib/messages/say";
import type { CurrentSetup } from "@/lib/records/child-facts";
import { openingFor } from "@/lib/records/family-home";
import { personName, type Standing } from "@/lib/records/standing";

const family = say("family");
const exercise = say("exercise");
const problems = say("problems");

/** The set-up in force, or null when nothing of the exercise may be shown. */
export const shownSetup = ({ record, setup, isNotCovered }: Standing): CurrentSetup | null =>
  setup && record && !isNotCovered && setup.curveRecordId === record.id ? setup : null;

export function setupLabel({ resolution: { setup } }: CurrentSetup, child: string): SetupLabel {
  return {
    title: family("schematic.title"),
    desc: family("schematic.desc", { child, side: setup.lieOn }),
    down: family("schematic.down", { side: setup.lieOn }),
    up: family("schematic.up", { side: opposite(setup.lieOn) }),
    ...(setup.breatheInto ? { breathe: family("schematic.breathe", { side: setup.breatheInto.side }) } : {}),
  };
}

/** Side and prop: never folded away. */
export function sideAndProp({ resolution: { setup }, apexSpot }: CurrentSetup): readonly string[] {
  return [
    exercise("setup.lieOn", { side: setup.lieOn }),
    setup.prop ? exercise(`setup.prop.${setup.prop.kind}.${setup.prop.place}`, { side: setup.prop.side }) : exercise("setup.prop.none"),
    ...(apexSpot ? [exercise("setup.apexSpot", { spot: apexSpot })] : []),
  ];
}

export function limbs({ resolution: { setup } }: CurrentSetup): readonly string[] {
  return (["bottomArm", "topArm", "bottomLeg", "topLeg"] as const)
    .map((limb) => exercise(`setup.${limb}.${setup[limb].position}`, { side: setup[limb].side }));
}

/** What is done in the set-up, of the opened phases alone. */
export function doing({ resolution }: CurrentSetup, isOpen: (phase: Phase) => boolean): readonly string[] {
  const { setup, breath, movement, activation, dose } = resolution;
  return [
    ...(isOpen("breath") ? [exercise(`setup.breath.${breath}`, { side: setup.breatheInto?.side ?? "none" })] : []),
    ...(isOpen("movement") ? [exercise(`setup.movement.${movement}`, { side: setup.topLeg.side })] : []),
    ...(isOpen("activation") && activation ? [exercise(`setup.activation.${activation}`, { side: setup.topArm.side })] : []),
    ...(isOpen("breath") ? [exercise("setup.dose", { breaths: dose.breaths, times: dose.times })] : []),
  ];
}

export type SaidReason = { readonly key: string; readonly text: string; readonly decided: string };

/** A reason with its date and who decided. */
export function reasonSaid(reason: Reason, actor: Actor): SaidReason {
  const item = "itemKey" in reason ? exercise(`items.${reason.itemKey}.title`) : "";
  const who = personName(actor.practiceId, reason.by) ?? family("decidedBySystem");
  return {
    key: `${reason.code} ${"stopId" in reason ? reason.stopId : item}`,
    text: family(`reason.${reason.code}`, { item }),
    decided: reason.since === null ? family("nobody") : family("decided", { date: formatDate(reason.since, actor.timeZone), who }),
  };
}

/** The emergency sentence, with the real next opening time. */
export function emergency(actor: Actor, now: number): string {
  const { isOpenNow, opensAt } = openingFor(actor, now);
  return isOpenNow || opensAt === null ? family("emergencySoon") : family("emergency", { opens: formatTime(opensAt, actor.timeZone) });
}

/** Sentences by code; `{max}` and the like stay for the form to fill. Ours come before the general ones. */
export function problemWords(): Record<string, string> {
  const own = Object.keys(catalogue.problem);
  // What holds a number cannot be said before the number is known: those have sentences of our own.
  const plain = PROBLEM_CODES.filter((code) => !own.includes(code) && !problemSentences[code].includes("{"));
  return {
    ...Object.fromEntries(plain.map((code) => [code, problems(code)])),
    ...Object.fromEntries(own.map((code) => [code, family(`problem.${code}`)])),
    other: problems("form-invalid"),
  };
}

/** Every word of the sending steps, filled for one child and set-up. */
export function sendWords(child: string, setup: CurrentSetup): Record<string, string> {
  const side = setup.resolution.setup.lieOn;
  return Object.fromEntries(Object.keys(catalogue.send).map((key) => [key, family(`send.${key}`, { child, side, up: opposite(side) })]));
}
