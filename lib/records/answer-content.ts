import "server-only";
import type { Transaction } from "@/db/client";
import { answers, answerSpans, marks } from "@/db/schema/answers";
import type { ChildGrant } from "@/lib/access/grant";
import {
  checkNextStep, checkSideVerdict, checkSummary, checkTypedSides, checkVerdicts, SIDE_DOWN, type Confirmation, type GivenVerdict, type NextStep,
} from "@/lib/domain/answering/check-answer";
import type { PairIds } from "@/lib/domain/answering/pair";
import { holdsStop, publishedFrom } from "@/lib/domain/answering/publication";
import { SHORTEST_SPAN_MS, type ClipSpan } from "@/lib/domain/clip/span";
import { levelOf } from "@/lib/domain/marks/level";
import { serialiseMarks, type Mark } from "@/lib/domain/marks/marks";
import { ok, refuse, type Result } from "@/lib/domain/result";
import type { View } from "@/lib/domain/setup/vocabulary";
import type { SentSet } from "@/lib/records/answering";
import { tellCarers } from "@/lib/records/carers";
import { insertVerdicts, type Kept } from "@/lib/records/judgements";
import { insertMarkedPicture, type MarkedPhoto, type MarkedPicture } from "@/lib/records/marked-pictures";
import { attachPairs } from "@/lib/records/pairs";
import { attachVoiceNote } from "@/lib/records/voice-notes";

export type AnswerInput = Confirmation & {
  readonly photoSetId: string;
  readonly verdicts: readonly GivenVerdict[];
  readonly summary: string;
  readonly nextStep: NextStep;
  /** Which view a new photo is wanted from. */
  readonly nextView: View | null;
  readonly marks: readonly { readonly photoId: string; readonly marks: readonly Mark[] }[];
  /** Set side by side for the family: photos of this child and exercise. */
  readonly pairs: readonly PairIds[];
  /** Parts of clips that the family is to repeat, by the photo whose clip it is. */
  readonly spans: readonly (ClipSpan & { readonly photoId: string })[];
  /** Recorded by this person for this set and not thrown away, or held by an earlier version. */
  readonly voiceNoteId: string | null;
};

export type SentAnswer = { readonly answerId: string; readonly publishedAt: number };

/** What every version of an answer must hold before it is sent; the photos that get marks. Other records call it with their grant. */
export function checkAnswer(set: SentSet, input: AnswerInput, alsoTyped: readonly { readonly field: string; readonly text: string }[] = []): Result<readonly MarkedPhoto[]> {
  if (set.photos.length === 0) return refuse("photos-gone");
  const { setup } = set.resolution;
  const marked = input.marks.flatMap(({ photoId, marks: drawn }) => {
    const photo = [...set.photos, ...set.moments].find((each) => each.photoId === photoId);
    return photo ? [{ photoId, width: photo.width, height: photo.height, levelDegrees: levelOf(photo.card), marks: drawn }] : [];
  });
  if (marked.length !== input.marks.length || new Set(marked.map((each) => each.photoId)).size !== marked.length) {
    return refuse("form-invalid", { field: "marks" });
  }
  const areInClips = input.spans.every(({ photoId, fromMs, toMs }) => fromMs >= 0 && toMs - fromMs >= SHORTEST_SPAN_MS
    && set.photos.some((photo) => photo.photoId === photoId && photo.clip !== null && toMs <= photo.clip.durationMs));
  if (!areInClips || new Set(input.spans.map(({ photoId }) => photoId)).size !== input.spans.length) return refuse("form-invalid", { field: "spans" });
  const down = input.verdicts.find((each) => each.itemKey === SIDE_DOWN)?.verdict ?? null;
  const typed = [
    { field: "summary", text: input.summary },
    ...input.verdicts.map((each) => ({ field: `words.${each.itemKey}`, text: each.cue ?? "" })),
    ...input.marks.flatMap((each) => each.marks.map((mark) => ({ field: "marks", text: mark.kind === "note" ? mark.text : "" }))),
    ...alsoTyped,
  ];
  for (const each of [
    checkVerdicts(set.rows, input.verdicts),
    set.photos.some((photo) => photo.needsEye) ? refuse("card-other-child") : ok(null),
    checkSideVerdict(down, set.photos.map((photo) => photo.sideCheck), input.sideReason),
    checkNextStep(set.rows, input.verdicts, input.nextStep),
    checkSummary(input.summary, setup),
    checkTypedSides(typed, setup, input),
  ]) if (!each.ok) return each;
  return ok(marked);
}

/** One version as it is stored: what it amends, and what of it was judged before and stays as it was. */
export type Version = { readonly answerId: string; readonly version: number; readonly amendReason: string; readonly kept: Kept };

/** Writes one version with its verdicts, marks, pictures and notices. For lib/records alone, inside the act that sends it. */
export function insertAnswer(
  tx: Transaction, grant: ChildGrant<"answer.write">, set: SentSet, input: AnswerInput, pictures: readonly MarkedPicture[], of: Version, now: number,
): Result<SentAnswer> {
  const { answerId, version, amendReason, kept } = of;
  const items = set.rows.map((row) => row.item);
  const publishedAt = publishedFrom(items, input.verdicts, now);
  tx.insert(answers).values({
    id: answerId, childId: grant.childId, familyId: grant.familyId, photoSetId: input.photoSetId, version, amendReason, kind: "answer",
    summary: input.summary.trim(), nextStep: input.nextStep, nextView: input.nextStep === "new-photo" ? input.nextView : null,
    sideReason: input.sideReason.trim(), answeredBy: grant.actor.personId, answeredAt: now, publishedAt,
  }).run();
  insertVerdicts(tx, grant, input.verdicts, {
    source: { answerId }, exerciseKey: set.exerciseKey, items, sidesKey: set.sidesKey, evidenceAt: set.provenAt, by: grant.actor.personId, kept,
  }, now);
  for (const picture of pictures) {
    tx.insert(marks).values({
      id: crypto.randomUUID(), childId: grant.childId, familyId: grant.familyId, answerId, photoId: picture.photoId, body: serialiseMarks(picture.marks),
    }).run();
    insertMarkedPicture(tx, grant, answerId, picture, now);
  }
  for (const span of input.spans) tx.insert(answerSpans).values({ id: crypto.randomUUID(), childId: grant.childId, familyId: grant.familyId, answerId, ...span }).run();
  const attached = attachPairs(tx, grant, answerId, input.pairs, now);
  if (!attached.ok) return attached;
  const spoken = attachVoiceNote(tx, grant, answerId, input.photoSetId, input.voiceNoteId);
  if (!spoken.ok) return spoken;
  tellCarers(tx, grant, holdsStop(items, input.verdicts) ? "answer-stop" : "answer", answerId, now, publishedAt);
  return ok({ answerId, publishedAt });
}
