import "server-only";
import { and, eq, inArray, isNotNull, isNull, or } from "drizzle-orm";
import type { Transaction } from "@/db/client";
import { answers, claims } from "@/db/schema/answers";
import { notices } from "@/db/schema/machinery";
import { photoSets } from "@/db/schema/photos";
import { backQuestions } from "@/db/schema/questions";
import type { ChildGrant } from "@/lib/access/grant";
import { takesPlaceOfWords, type NewSet } from "@/lib/domain/answering/back-question";
import { checkTypedSides, type Confirmation } from "@/lib/domain/answering/check-answer";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { addNotice } from "@/lib/notices/add";
import { ofObject } from "@/lib/notices/of-object";
import { act } from "@/lib/records/act";
import { readSet } from "@/lib/records/answering";
import { isOpenQuestion } from "@/lib/records/back-question-reads";
import { readCarers, tellCarers } from "@/lib/records/carers";
import { own, readPhotoConsent, type ChildRef } from "@/lib/records/child-facts";
import { firstAnswer, inForce } from "@/lib/records/in-force";
import { measuredWords } from "@/lib/records/questions";
import { REMINDERS, remindedToday } from "@/lib/records/reminded-today";
import { tellStaff } from "@/lib/records/tell-staff";

/**
 * A therapist's question to the family about a photo set that nobody answered yet. Its clock stands still until the
 * family's words or new photo, the question's withdrawal or an answer sent all the same. The asker's claim on the set ends; their
 * draft stays. Refused: `question-length`, `words-side-disagree`, `set-voided`, `answered-already`, `consent-withdrawn`,
 * `back-question-open` while one is with the family, and `back-question-nobody` where nobody could read it.
 */
export async function askFamily(
  grant: ChildGrant<"back-question.ask">, input: { readonly photoSetId: string; readonly words: string } & Confirmation, now: number,
): Promise<Result<{ readonly backQuestionId: string }>> {
  const words = measuredWords(input.words);
  if (!words.ok) return words;
  const id = crypto.randomUUID();
  return act(grant, "back-question.asked", now, (tx) => {
    const free = checkFree(tx, grant, input.photoSetId, now);
    if (!free.ok) return free;
    const set = readSet(grant, input.photoSetId);
    if (!set) return refuse("form-invalid", { field: "photoSetId" });
    const sides = checkTypedSides([{ field: "words", text: words.value }], set.resolution.setup, input);
    if (!sides.ok) return sides;
    tx.insert(backQuestions).values({
      id, childId: grant.childId, familyId: grant.familyId, photoSetId: input.photoSetId, words: words.value, sideReason: input.sideReason.trim(),
      askedBy: grant.actor.personId, askedAt: now,
    }).run();
    tx.delete(claims).where(and(eq(claims.photoSetId, input.photoSetId), eq(claims.personId, grant.actor.personId))).run();
    tellCarers(tx, grant, "reply", id, now);
    return ok({ objectId: id, value: { backQuestionId: id } });
  });
}

/** Whether the family may be asked about this set now. */
function checkFree(tx: Transaction, grant: ChildGrant<"back-question.ask">, photoSetId: string, now: number): Result<null> {
  const row = tx.select({ voidedAt: photoSets.voidedAt, answerId: answers.id, openId: backQuestions.id }).from(photoSets)
    .leftJoin(answers, and(eq(answers.photoSetId, photoSets.id), firstAnswer()))
    .leftJoin(backQuestions, and(eq(backQuestions.photoSetId, photoSets.id), isOpenQuestion()))
    .where(and(own(photoSets, grant), eq(photoSets.id, photoSetId), isNotNull(photoSets.sentAt))).get();
  if (!row) return refuse("form-invalid", { field: "photoSetId" });
  if (row.voidedAt !== null) return refuse("set-voided");
  if (row.answerId !== null) return refuse("answered-already");
  if (row.openId !== null) return refuse("back-question-open");
  if (readPhotoConsent(grant, now) !== "given") return refuse("consent-withdrawn");
  return readCarers(grant, now).length > 0 ? ok(null) : refuse("back-question-nobody");
}

/** Takes the question back: the photo set's clock runs on, and a notice of it that has not left never does. Refused: `stale-version` once the family has answered or it was withdrawn. */
export async function withdrawFromFamily(grant: ChildGrant<"back-question.ask">, backQuestionId: string, now: number): Promise<Result<null>> {
  return act(grant, "back-question.withdrawn", now, (tx) => {
    const withdrawn = tx.update(backQuestions).set({ withdrawnBy: grant.actor.personId, withdrawnAt: now })
      .where(and(own(backQuestions, grant), eq(backQuestions.id, backQuestionId), isOpenQuestion())).run();
    if (withdrawn.changes === 0) return refuse("stale-version");
    dropNotices(tx, backQuestionId, now);
    return ok({ objectId: backQuestionId, value: null });
  });
}

/** What was to tell or remind the family of a question that waits no longer, and has not left, never does. */
function dropNotices(tx: Transaction, backQuestionId: string, now: number): void {
  const about = or(ofObject("reply", backQuestionId), ofObject("question-reminder", backQuestionId));
  tx.update(notices).set({ gaveUpAt: now }).where(and(inArray(notices.kind, ["reply", "question-reminder"]), about, isNull(notices.sentAt))).run();
}

/**
 * Ends each question about this child and exercise whose words a new photo set takes the place of, in the act that sends
 * it: its photo set's clock runs on, and staff see both. It stays ended when that set later counts nowhere any more: the
 * set that was asked about waits for its therapist again, who can ask anew.
 */
export function endByNewPhoto(tx: Transaction, ref: ChildRef, exerciseKey: string, set: NewSet, now: number): void {
  const open = tx.select({ id: backQuestions.id, askedAt: backQuestions.askedAt }).from(backQuestions)
    .innerJoin(photoSets, and(eq(photoSets.id, backQuestions.photoSetId), eq(photoSets.childId, backQuestions.childId)))
    .where(and(own(backQuestions, ref), isOpenQuestion(), eq(photoSets.exerciseKey, exerciseKey), isNull(photoSets.voidedAt))).all();
  for (const { id, askedAt } of open) {
    if (!takesPlaceOfWords(set, askedAt)) continue;
    tx.update(backQuestions).set({ newPhotoAt: now }).where(and(own(backQuestions, ref), eq(backQuestions.id, id), isOpenQuestion())).run();
    dropNotices(tx, id, now);
  }
}

/**
 * One mail to each carer who can answer an open question, at most one reminder a day and person. Refused: `stale-version`
 * once it waits no longer, `family-reminded-today` when nobody is left to mail.
 */
export async function remindOfQuestion(grant: ChildGrant<"back-question.ask">, backQuestionId: string, now: number): Promise<Result<null>> {
  return act(grant, "back-question.reminded", now, (tx) => {
    const open = tx.select({ id: backQuestions.id }).from(backQuestions)
      .innerJoin(photoSets, and(eq(photoSets.id, backQuestions.photoSetId), eq(photoSets.childId, backQuestions.childId)))
      .leftJoin(answers, and(eq(answers.photoSetId, photoSets.id), firstAnswer()))
      .where(and(own(backQuestions, grant), eq(backQuestions.id, backQuestionId), isOpenQuestion(), isNull(answers.id), isNull(photoSets.voidedAt))).get();
    if (!open || readPhotoConsent(grant, now) !== "given") return refuse("stale-version");
    const before = remindedToday(grant.practiceId, REMINDERS, now);
    const due = readCarers(grant, now).filter(({ personId }) => !before.has(personId));
    if (due.length === 0) return refuse("family-reminded-today");
    for (const { personId } of due) addNotice(tx, { kind: "question-reminder", personId, dedupeKey: `question-reminder:${backQuestionId}:by-hand:${now}:${personId}`, now });
    return ok({ objectId: backQuestionId, value: null });
  });
}

/**
 * The family's words to what was asked: one text, from whichever carer was first; the staff are told. Refused:
 * `question-length`; `back-question-replied` for who was slower; `back-question-closed` when it was withdrawn, a
 * new photo took their place, or its photo set was answered all the same or counts nowhere any more.
 */
export async function answerTherapist(
  grant: ChildGrant<"back-question.reply">, input: { readonly backQuestionId: string; readonly words: string }, now: number,
): Promise<Result<null>> {
  const words = measuredWords(input.words);
  if (!words.ok) return words;
  return act(grant, "back-question.replied", now, (tx) => {
    const mine = and(own(backQuestions, grant), eq(backQuestions.id, input.backQuestionId));
    const asked = tx.select({ repliedAt: backQuestions.repliedAt, voidedAt: photoSets.voidedAt, answerId: answers.id }).from(backQuestions)
      .innerJoin(photoSets, and(eq(photoSets.id, backQuestions.photoSetId), eq(photoSets.childId, backQuestions.childId)))
      .leftJoin(answers, and(eq(answers.photoSetId, photoSets.id), inForce(now)))
      .where(mine).get();
    if (!asked) return refuse("form-invalid", { field: "backQuestionId" });
    if (asked.repliedAt !== null) return refuse("back-question-replied");
    if (asked.voidedAt !== null || asked.answerId !== null) return refuse("back-question-closed");
    const replied = tx.update(backQuestions).set({ reply: words.value, repliedBy: grant.actor.personId, repliedAt: now }).where(and(mine, isOpenQuestion())).run();
    if (replied.changes === 0) return refuse("back-question-closed");
    tellStaff(tx, grant.practiceId, "question-asked", input.backQuestionId, now);
    return ok({ objectId: input.backQuestionId, value: null });
  });
}
