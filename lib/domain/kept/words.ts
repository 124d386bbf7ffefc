import { READ_BACK_CHOICES } from "@/lib/domain/answering/read-back";
import { REASON_STATE, type ReasonCode } from "@/lib/domain/setup/go-ahead-reasons";
import { GO_AHEADS } from "@/lib/domain/setup/vocabulary";
import { SYMPTOM_KEYS } from "@/lib/domain/symptoms/symptoms";

const CHOICES = [...READ_BACK_CHOICES.side, ...READ_BACK_CHOICES.prop, ...READ_BACK_CHOICES.practise];

/**
 * The sentences that go along with what is kept, each by its area and key in the catalogue: the page
 * without signal has no catalogue of its own. A phone that has not all of them was given something else.
 */
export const KEPT_WORDS = [
  "common.caution",
  "voice.player.speed", "voice.player.times", "voice.player.same",
  ...(["play", "pause", "speed", "times", "back", "on", "loopFrom", "loopTo", "loopAll", "keys"] as const).map((key) => `clip.${key}` as const),
  ...GO_AHEADS.map((state) => `family.state.${state}` as const),
  ...(Object.keys(REASON_STATE) as ReasonCode[]).map((code) => `family.reason.${code}` as const), // the keys of that object
  "family.decided", "family.decidedBySystem", "family.nobody", "family.photoFirstHow", "family.photosOff",
  "family.card.reasons", "family.card.fix", "family.card.more", "family.card.settled", "family.card.noCue", "family.card.notLikeThis", "family.card.hurts",
  "family.emergencySoon", "family.stopToday", "family.stopPlaced",
  "family.readBack.lead", "family.readBack.send",
  ...CHOICES.map((choice) => `family.readBack.choice.${choice}` as const),
  "family.symptom.title", "family.symptom.who", "family.symptom.urgent", "family.symptom.today", "family.symptom.note",
  ...SYMPTOM_KEYS.map((key) => `family.symptom.is.${key}` as const),
  "kept.offline", "kept.notReached", "kept.waits", "kept.hurtsLead", "kept.hurtsSend", "kept.hurtsBack", "kept.hurtsMissing", "kept.notStored",
  "kept.readBackWrong", "kept.readBackWaits", "kept.forget",
] as const;

export type KeptWord = (typeof KEPT_WORDS)[number];

/** A sentence with its `{name}` places filled. */
export const filled = (sentence: string, values: Readonly<Record<string, string>>): string =>
  sentence.replace(/\{(\w+)\}/g, (whole, name: string) => values[name] ?? whole);
