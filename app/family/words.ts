import "server-only";
import { momentSaid } from "@/app/family/expectation";
import type { SetupLabel } from "@/app/ui/schematic/setup-schematic";
import type { Actor } from "@/lib/access/actor";
import { PROBLEM_CODES } from "@/lib/domain/problem";
import type { Reason } from "@/lib/domain/setup/go-ahead-reasons";
import { handLies } from "@/lib/domain/setup/writing-hand";
import { opposite, type Side } from "@/lib/domain/sides";
import { formatDate } from "@/lib/domain/time/format";
import type { Reader } from "@/lib/domain/words/reader";
import cardCatalogue from "@/lib/messages/en/cards.json";
import installedCatalogue from "@/lib/messages/en/installed.json";
import catalogue from "@/lib/messages/en/family.json";
import problemSentences from "@/lib/messages/en/problems.json";
import { say } from "@/lib/messages/say";
import type { CurrentSetup } from "@/lib/records/child-facts";
import type { ExerciseNames } from "@/lib/records/exercise-names";
import { practiceClock } from "@/lib/records/family-home";
import { personName, type Standing } from "@/lib/records/standing";

/** The set-up in force, or null when nothing of the exercise may be shown. */
export const shownSetup = ({ record, setup, isNotCovered }: Standing): CurrentSetup | null =>
  setup && record && !isNotCovered && setup.curveRecordId === record.id ? setup : null;

export function setupLabel({ resolution: { setup } }: CurrentSetup, child: string, reader: Reader): SetupLabel {
  const family = say("family", reader);
  return {
    title: family("schematic.title"),
    desc: family("schematic.desc", { child, side: setup.lieOn }),
    down: family("schematic.down", { side: setup.lieOn }),
    up: family("schematic.up", { side: opposite(setup.lieOn) }),
    ...(setup.breatheInto ? { breathe: family("schematic.breathe", { side: setup.breatheInto.side }) } : {}),
  };
}

/** That the exercise does not fit this child, and who will say what to do instead. */
export const notCovered = ({ childName, record }: Standing, { practiceId, reader }: Actor): string => say("exercise", reader)("coverage.family", {
  child: childName, therapist: personName(practiceId, record?.recordedBy ?? null) ?? say("family", reader)("therapist"),
});

export type SaidReason = { readonly key: string; readonly text: string; /** The item the sentence names; empty for none. */ readonly item: string; readonly decided: string };

/** A reason with its date and who decided. */
export function reasonSaid(reason: Reason, names: ExerciseNames, actor: Actor): SaidReason {
  const family = say("family", actor.reader);
  const item = "itemKey" in reason ? names.itemTitle(reason.itemKey) : "";
  const who = personName(actor.practiceId, reason.by) ?? family("decidedBySystem");
  return {
    key: `${reason.code} ${"stopId" in reason ? reason.stopId : item}`,
    text: family(`reason.${reason.code}`, { item }), item,
    decided: reason.since === null ? family("nobody") : family("decided", { date: formatDate(reason.since, actor.timeZone, actor.reader.locale), who }),
  };
}

/** The emergency sentence, with the real next opening time. */
export function emergency(actor: Actor, now: number): string {
  const [family, clock] = [say("family", actor.reader), practiceClock(actor, now)];
  return clock.opensAt === null ? family("emergencySoon") : family("emergency", { opens: momentSaid(clock.opensAt, actor, clock, now) });
}

/** Sentences by code; `{max}` and the like stay for the form to fill. Ours come before the general ones. */
export function problemWords(reader: Reader): Record<string, string> {
  const [family, problems] = [say("family", reader), say("problems", reader)];
  const own = Object.keys(catalogue.problem);
  // What holds a number cannot be said before the number is known: those have sentences of our own.
  const plain = PROBLEM_CODES.filter((code) => !own.includes(code) && !problemSentences[code].includes("{"));
  return {
    ...Object.fromEntries(plain.map((code) => [code, problems(code)])),
    ...Object.fromEntries(own.map((code) => [code, family(`problem.${code}`)])),
    other: problems("form-invalid"),
  };
}

/** Left and right known from the hand the child writes with, checked on the child. */
export function handWords(child: string, hand: Side, lieOn: Side, reader: Reader): { readonly handIs: string; readonly handHow: string; readonly handLies: string } {
  const care = say("care", reader);
  return {
    handIs: care("hand.is", { child, hand }),
    handHow: care("hand.how", { child, hand }),
    handLies: care(handLies(hand, lieOn) === "floor" ? "hand.liesFloor" : "hand.liesTop", { child, side: lieOn }),
  };
}

/** Every word of the sending steps, filled for one child and set-up, and for the hand the child writes with where it is known. */
export function sendWords(child: string, setup: CurrentSetup, hand: Side | null, reader: Reader): Record<string, string> {
  const [cards, family] = [say("cards", reader), say("family", reader)];
  const side = setup.resolution.setup.lieOn;
  return {
    ...Object.fromEntries(Object.keys(catalogue.send).map((key) => [key, family(`send.${key}`, { child, side, up: opposite(side) })])),
    ...Object.fromEntries(Object.keys(cardCatalogue.send).map((key) => [key, cards(`send.${key}`, { child })])),
    ...Object.fromEntries(Object.keys(installedCatalogue.here).map((key) => [key, say("installed", reader)(`here.${key}`)])),
    ...(hand ? handWords(child, hand, side, reader) : {}),
    shared: say("care", reader)("shared", { child }),
  };
}
