import "server-only";
import { and, eq, isNotNull } from "drizzle-orm";
import type { Transaction } from "@/db/client";
import { answers, claims } from "@/db/schema/answers";
import { photoSets } from "@/db/schema/photos";
import type { ChildGrant } from "@/lib/access/grant";
import { checkTypedSides, type Confirmation } from "@/lib/domain/answering/check-answer";
import { TAKE_BACK_MS } from "@/lib/domain/answering/publication";
import { ok, refuse, type Result } from "@/lib/domain/result";
import type { View } from "@/lib/domain/setup/vocabulary";
import { act } from "@/lib/records/act";
import { checkAnswer, insertAnswer, type AnswerInput, type SentAnswer } from "@/lib/records/answer-content";
import { readSet } from "@/lib/records/answering";
import { tellCarers } from "@/lib/records/carers";
import { own, readPhotoConsent } from "@/lib/records/child-facts";
import type { AnswerDraft } from "@/lib/records/drafts";
import { firstAnswer } from "@/lib/records/in-force";
import { makeMarkedPictures } from "@/lib/records/marked-pictures";
import { eraseUnclaimed } from "@/lib/records/media";
import { keepSentDraft } from "@/lib/records/sent-drafts";

/**
 * The answer to one photo set: verdicts, cues, marks and words. With a stop it is published at once, else
 * it can be taken back for a while. Of two answers the first one stays and the other is refused with
 * `answered-already`, its draft kept. `typed` is the form as it was sent, kept until then as the draft.
 * Refused too: `set-voided`, `consent-withdrawn`, and what `checkAnswer` refuses.
 */
export async function sendAnswer(grant: ChildGrant<"answer.write">, input: AnswerInput, now: number, typed?: AnswerDraft): Promise<Result<SentAnswer>> {
  const set = readSet(grant, input.photoSetId);
  if (!set) return refuse("form-invalid", { field: "photoSetId" });
  const checked = checkAnswer(set, input);
  if (!checked.ok) return checked;
  const pictures = await makeMarkedPictures(grant, checked.value);
  if (!pictures.ok) return pictures;
  const answerId = crypto.randomUUID();
  const answered = act(grant, "answer.sent", now, (tx) => {
    const free = takeSet(tx, grant, input.photoSetId, typed, now);
    if (!free.ok) return free;
    const of = { answerId, version: 1, amendReason: "", kept: new Map() };
    const sent = insertAnswer(tx, grant, set, input, pictures.value, of, now);
    return sent.ok ? ok({ objectId: answerId, value: sent.value }) : sent;
  });
  await eraseUnclaimed(pictures.value.map(({ media }) => media.fileId));
  return answered;
}

/** Whether this set may still be answered; ends the claim on it and sets the sender's draft aside when it may. */
function takeSet(tx: Transaction, grant: ChildGrant<"answer.write">, photoSetId: string, typed: AnswerDraft | undefined, now: number): Result<null> {
  const row = tx.select({ voidedAt: photoSets.voidedAt, answerId: answers.id }).from(photoSets)
    .leftJoin(answers, and(eq(answers.photoSetId, photoSets.id), firstAnswer()))
    .where(and(own(photoSets, grant), eq(photoSets.id, photoSetId), isNotNull(photoSets.sentAt))).get();
  if (!row) return refuse("form-invalid", { field: "photoSetId" });
  if (row.voidedAt !== null) return refuse("set-voided");
  if (row.answerId !== null) return refuse("answered-already");
  if (readPhotoConsent(grant, now) !== "given") return refuse("consent-withdrawn");
  tx.delete(claims).where(eq(claims.photoSetId, photoSetId)).run();
  keepSentDraft(tx, grant, photoSetId, typed, now);
  return ok(null);
}

/** "Take it again": no verdicts, and the family is told why and from where. It can be taken back like any answer without a stop. */
export async function askForNewPhoto(
  grant: ChildGrant<"answer.write">,
  input: { readonly photoSetId: string; readonly reason: string; readonly nextView: View | null } & Confirmation,
  now: number,
): Promise<Result<SentAnswer>> {
  const reason = input.reason.trim();
  if (reason.length < 3) return refuse("reason-missing", { field: "reason" });
  const answerId = crypto.randomUUID();
  const publishedAt = now + TAKE_BACK_MS;
  return act(grant, "photo.asked-again", now, (tx) => {
    const set = readSet(grant, input.photoSetId);
    if (!set) return refuse("form-invalid", { field: "photoSetId" });
    const sides = checkTypedSides([{ field: "reason", text: reason }], set.resolution.setup, input);
    if (!sides.ok) return sides;
    const free = takeSet(tx, grant, input.photoSetId, undefined, now);
    if (!free.ok) return free;
    tx.insert(answers).values({
      id: answerId, childId: grant.childId, familyId: grant.familyId, photoSetId: input.photoSetId, kind: "take-again", summary: reason,
      nextStep: "new-photo", nextView: input.nextView, takeAgainReason: reason, sideReason: input.sideReason.trim(),
      answeredBy: grant.actor.personId, answeredAt: now, publishedAt,
    }).run();
    tellCarers(tx, grant, "answer", answerId, now, publishedAt);
    return ok({ objectId: answerId, value: { answerId, publishedAt } });
  });
}
