import "server-only";
import type { DraftWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/draft-rows";
import { NO_CUE } from "@/app/desk/children/[childId]/sets/[photoSetId]/given-verdicts";
import { offeredCues } from "@/app/desk/children/[childId]/sets/[photoSetId]/offered-cues";
import { shownPhotos } from "@/app/desk/children/[childId]/then-and-now/words";
import type { ChildGrant } from "@/lib/access/grant";
import { PAIR_FIELDS } from "@/lib/domain/answering/pair";
import { VERDICTS, VIEWS } from "@/lib/domain/setup/vocabulary";
import { say } from "@/lib/messages/say";
import { NEXT_STEPS } from "@/lib/domain/answering/check-answer";
import { secondsOf } from "@/lib/domain/clip/moment";
import { spanField } from "@/lib/domain/clip/span";
import type { SentSet } from "@/lib/records/answering";
import type { LibraryCue } from "@/lib/records/cues";
import type { ExerciseNames } from "@/lib/records/exercise-names";
import { comparable } from "@/lib/records/pairs";

const PLAIN = ["summary", "nextStep", "nextView", "sideReason", "wordsConfirmed", "rest", "voice", "amendReason"] as const;

/** What the parts of a draft of this set are called, and what can stand in them. */
export async function draftWords(granted: ChildGrant<"answer.write">, set: SentSet, names: ExerciseNames, library: readonly LibraryCue[], zone: string, now: number): Promise<DraftWords> {
  const t = say("drafts");
  const pairs = say("pairs");
  const desk = say("desk");
  const byItem = set.rows.flatMap(({ item }) => ["verdict", "cue", "words"].map((part) => [`${part}.${item.key}`, t(`fields.${part}`, { item: names.itemTitle(item.key) })] as const));
  return {
    fields: Object.fromEntries([
      ...byItem,
      ...set.photos.map((photo, at) => [`marks.${photo.photoId}`, t("fields.marks", { n: at + 1 })] as const),
      ...set.moments.map(({ photoId, clipMs }) => [`marks.${photoId}`, t("fields.momentMarks", { at: secondsOf(clipMs) })] as const),
      ...set.photos.map(({ photoId }) => [spanField(photoId), t("fields.span")] as const),
      ...PAIR_FIELDS.map((name, at) => [name, t("fields.pair", { n: at + 1 })] as const),
      ...PLAIN.map((name) => [name, t(`fields.${name}`)] as const),
    ]),
    values: Object.fromEntries([
      ...VERDICTS.map((verdict) => [verdict, desk(`answering.verdict.${verdict}`)] as const),
      ...NEXT_STEPS.map((step) => [step, desk(`answering.step.${step}`)] as const),
      ...VIEWS.map((view) => [view, desk(`answering.view.${view}`)] as const),
      ...set.rows.flatMap(({ item }) => library.flatMap((cue) => offeredCues([cue], item.key, set.resolution.setup, cue.id)).map((cue) => [cue.id, cue.words] as const)),
      [NO_CUE, say("cues")("field.none")], ["any", desk("answering.anyView")], ["yes", t("yes")],
    ]),
    photos: Object.fromEntries(shownPhotos(await comparable(granted, set.exerciseKey, now), granted.childId, zone).map(({ photoId, option }) => [photoId, option])),
    pair: pairs("pair", { first: "{first}", second: "{second}" }), gone: pairs("gone"), span: t("span", { from: "{from}", to: "{to}" }), voice: t("voice"), nothing: t("nothing"), marks: t("marks", { n: "{n}" }), other: t("fields.other"),
  };
}

export const versionWords = () => {
  const t = say("drafts");
  return { caption: t("differs"), field: t("field"), same: t("same") };
};

export type KeeperWords = ReturnType<typeof keeperWords>;

/** The keeper's words; `{name}` stays to be filled. */
export function keeperWords(draft: DraftWords, savedAt: string | null) {
  const t = say("drafts");
  const desk = say("desk");
  return {
    draft, versions: versionWords(), restored: savedAt === null ? null : desk("answering.draftRestored", { when: savedAt }),
    saved: desk("answering.draftSaved"), saving: desk("answering.draftSaving"), "no-server": t("noServer"), "not-kept": t("notKept"),
    "signed-out": t("signedOut"), signIn: t("signIn"), "sent-elsewhere": t("sentElsewhere"),
    colleague: desk("answering.claimedBy", { name: "{name}" }), "taken-over": t("takenOver", { name: "{name}" }), takeOver: desk("answering.takeOver"),
    answered: t("answeredMeanwhile"), look: t("look"),
    here: t("here"), there: { computer: t("kept"), window: t("window") }, offer: { computer: t("keptOffer"), window: t("windowOffer") },
    choose: t("choose"), goOn: t("goOn"),
  };
}
