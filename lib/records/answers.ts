import "server-only";
import { and, eq, isNotNull, isNull } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { answers, claims, drafts, marks } from "@/db/schema/answers";
import { photoSets } from "@/db/schema/photos";
import type { ChildGrant } from "@/lib/access/grant";
import {
  checkSideVerdict, checkSummary, checkTypedSides, checkVerdicts, SIDE_DOWN, type Confirmation, type GivenVerdict,
} from "@/lib/domain/answering/check-answer";
import type { Mark } from "@/lib/domain/marks/marks";
import { serialiseMarks } from "@/lib/domain/marks/marks.schema";
import { ok, refuse, type Result } from "@/lib/domain/result";
import type { View } from "@/lib/domain/setup/vocabulary";
import { act } from "@/lib/records/act";
import { readSet, type SentSet } from "@/lib/records/answering";
import { tellCarers } from "@/lib/records/carers";
import { own, readPhotoConsent } from "@/lib/records/child-facts";
import { insertVerdicts } from "@/lib/records/judgements";
import { insertMarkedPicture, makeMarkedPictures, type MarkedPhoto } from "@/lib/records/marked-pictures";

export const NEXT_STEPS = ["new-photo", "keep-going", "open-next-phase", "book-assessment"] as const;
export type NextStep = (typeof NEXT_STEPS)[number];

export type AnswerInput = Confirmation & {
  readonly photoSetId: string;
  readonly verdicts: readonly GivenVerdict[];
  readonly summary: string;
  readonly nextStep: NextStep;
  /** Which view a new photo is wanted from. */
  readonly nextView: View | null;
  readonly marks: readonly { readonly photoId: string; readonly marks: readonly Mark[] }[];
};

/**
 * The answer to one photo set: verdicts, cues, marks and words, published at once with its notices.
 * Of two answers the first one stays and the other is refused with `answered-already`, its draft
 * kept. Refused too: `set-voided`, `consent-withdrawn`, and what `checkAnswer` refuses.
 */
export async function sendAnswer(grant: ChildGrant<"answer.write">, input: AnswerInput, now: number): Promise<Result<{ readonly answerId: string }>> {
  const set = database().transaction((tx) => readSet(tx, grant, input.photoSetId));
  if (!set) return refuse("form-invalid", { field: "photoSetId" });
  const checked = checkAnswer(set, input);
  if (!checked.ok) return checked;
  const marked = await makeMarkedPictures(grant, checked.value);
  if (!marked.ok) return marked;
  const answerId = crypto.randomUUID();
  return act(grant, "answer.sent", now, (tx) => {
    const free = takeSet(tx, grant, input.photoSetId);
    if (!free.ok) return free;
    tx.insert(answers).values({
      id: answerId, childId: grant.childId, familyId: grant.familyId, photoSetId: input.photoSetId, kind: "answer",
      summary: input.summary.trim(), nextStep: input.nextStep, nextView: input.nextStep === "new-photo" ? input.nextView : null,
      sideReason: input.sideReason.trim(), answeredBy: grant.actor.personId, answeredAt: now,
    }).run();
    insertVerdicts(tx, grant, input.verdicts, {
      source: { answerId }, exerciseKey: set.exerciseKey, items: set.rows.map((row) => row.item), sidesKey: set.sidesKey,
      evidenceAt: set.provenAt, by: grant.actor.personId,
    }, now);
    for (const picture of marked.value) {
      tx.insert(marks).values({
        id: crypto.randomUUID(), childId: grant.childId, familyId: grant.familyId, answerId, photoId: picture.photoId, body: serialiseMarks(picture.marks),
      }).run();
      insertMarkedPicture(tx, grant, answerId, picture, now);
    }
    tellCarers(tx, grant, "answer", answerId, now);
    return ok({ objectId: answerId, value: { answerId } });
  });
}

function checkAnswer(set: SentSet, input: AnswerInput): Result<readonly MarkedPhoto[]> {
  const { setup } = set.resolution;
  const marked = input.marks.flatMap(({ photoId, marks: drawn }) => {
    const photo = set.photos.find((each) => each.photoId === photoId);
    return photo ? [{ photoId, width: photo.width, height: photo.height, marks: drawn }] : [];
  });
  if (marked.length !== input.marks.length || new Set(marked.map((each) => each.photoId)).size !== marked.length) {
    return refuse("form-invalid", { field: "marks" });
  }
  const down = input.verdicts.find((each) => each.itemKey === SIDE_DOWN)?.verdict ?? null;
  const typed = [
    { field: "summary", text: input.summary },
    ...input.verdicts.map((each) => ({ field: `words.${each.itemKey}`, text: each.cue ?? "" })),
    ...input.marks.flatMap((each) => each.marks.map((mark) => ({ field: "marks", text: mark.kind === "note" ? mark.text : "" }))),
  ];
  for (const each of [
    checkVerdicts(set.rows, input.verdicts),
    checkSideVerdict(down, set.photos.map((photo) => photo.sideCheck), input.sideReason),
    checkSummary(input.summary, setup),
    checkTypedSides(typed, setup, input),
  ]) if (!each.ok) return each;
  return ok(marked);
}

/** Whether this set may still be answered; ends the sender's claim and draft when it may. */
function takeSet(tx: Transaction, grant: ChildGrant<"answer.write">, photoSetId: string): Result<null> {
  const row = tx.select({ voidedAt: photoSets.voidedAt, answerId: answers.id }).from(photoSets)
    .leftJoin(answers, eq(answers.photoSetId, photoSets.id))
    .where(and(own(photoSets, grant), eq(photoSets.id, photoSetId), isNotNull(photoSets.sentAt))).get();
  if (!row) return refuse("form-invalid", { field: "photoSetId" });
  if (row.voidedAt !== null) return refuse("set-voided");
  if (row.answerId !== null) return refuse("answered-already");
  if (readPhotoConsent(grant) !== "given") return refuse("consent-withdrawn");
  tx.delete(claims).where(eq(claims.photoSetId, photoSetId)).run();
  tx.delete(drafts).where(and(own(drafts, grant), eq(drafts.photoSetId, photoSetId), eq(drafts.personId, grant.actor.personId))).run();
  return ok(null);
}

/** "Take it again": no verdicts, and the family is told why and from where. */
export async function askForNewPhoto(
  grant: ChildGrant<"answer.write">,
  input: { readonly photoSetId: string; readonly reason: string; readonly nextView: View | null } & Confirmation,
  now: number,
): Promise<Result<{ readonly answerId: string }>> {
  const reason = input.reason.trim();
  if (reason.length < 3) return refuse("reason-missing", { field: "reason" });
  const answerId = crypto.randomUUID();
  return act(grant, "photo.asked-again", now, (tx) => {
    const set = readSet(tx, grant, input.photoSetId);
    if (!set) return refuse("form-invalid", { field: "photoSetId" });
    const sides = checkTypedSides([{ field: "reason", text: reason }], set.resolution.setup, input);
    if (!sides.ok) return sides;
    const free = takeSet(tx, grant, input.photoSetId);
    if (!free.ok) return free;
    tx.insert(answers).values({
      id: answerId, childId: grant.childId, familyId: grant.familyId, photoSetId: input.photoSetId, kind: "take-again", summary: reason,
      nextStep: "new-photo", nextView: input.nextView, takeAgainReason: reason, sideReason: input.sideReason.trim(),
      answeredBy: grant.actor.personId, answeredAt: now,
    }).run();
    tellCarers(tx, grant, "answer", answerId, now);
    return ok({ objectId: answerId, value: { answerId } });
  });
}

/** "Sent for the wrong child": the set counts nowhere any more, its pictures close, and the family is told. */
export async function voidPhotoSet(grant: ChildGrant<"answer.write">, photoSetId: string, now: number): Promise<Result<null>> {
  return act(grant, "photo-set.voided", now, (tx) => {
    const voided = tx.update(photoSets).set({ voidedAt: now, voidedBy: grant.actor.personId, voidReason: "wrong-child" })
      .where(and(own(photoSets, grant), eq(photoSets.id, photoSetId), isNotNull(photoSets.sentAt), isNull(photoSets.voidedAt))).run();
    if (voided.changes === 0) return refuse("set-voided");
    tx.delete(claims).where(eq(claims.photoSetId, photoSetId)).run();
    tx.delete(drafts).where(and(own(drafts, grant), eq(drafts.photoSetId, photoSetId))).run();
    tellCarers(tx, grant, "set-voided", photoSetId, now);
    return ok({ objectId: photoSetId, value: null });
  });
}
