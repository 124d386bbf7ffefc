import "server-only";
import { and, eq, isNotNull } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { answers, marks, verdicts } from "@/db/schema/answers";
import { photoSets } from "@/db/schema/photos";
import type { ChildGrant } from "@/lib/access/grant";
import { spanField, spellSpan } from "@/lib/domain/clip/span";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { act } from "@/lib/records/act";
import { checkAnswer, insertAnswer, type AnswerInput, type SentAnswer } from "@/lib/records/answer-content";
import { spansOf } from "@/lib/records/answer-spans";
import { readSet } from "@/lib/records/answering";
import { own, readPhotoConsent } from "@/lib/records/child-facts";
import type { AnswerDraft } from "@/lib/records/drafts";
import { newestVersion } from "@/lib/records/in-force";
import type { Kept } from "@/lib/records/judgements";
import { makeMarkedPictures } from "@/lib/records/marked-pictures";
import { eraseUnclaimed } from "@/lib/records/media";
import { pairIdsOf } from "@/lib/records/pairs";
import { keepSentDraft } from "@/lib/records/sent-drafts";

/** Which version is changed, and why, in words the family reads. */
export type Amendment = { readonly basedOn: string; readonly reason: string };

/**
 * The next version of an answer, whole, through the same checks; the one before stays readable. What it
 * says as before was judged when it was first said. Refused: `amended-already` when a newer version
 * stands, the draft kept; `amend-too-soon` while the version can still be taken back; `reason-missing`;
 * and what `sendAnswer` refuses.
 */
export async function amendAnswer(
  grant: ChildGrant<"answer.write">, input: AnswerInput, amendment: Amendment, now: number, typed?: AnswerDraft,
): Promise<Result<SentAnswer>> {
  const reason = amendment.reason.trim();
  if (reason.length < 3) return refuse("reason-missing", { field: "amendReason" });
  const set = readSet(grant, input.photoSetId);
  if (!set) return refuse("form-invalid", { field: "photoSetId" });
  const checked = checkAnswer(set, input, [{ field: "amendReason", text: reason }]);
  if (!checked.ok) return checked;
  const pictures = await makeMarkedPictures(grant, checked.value);
  if (!pictures.ok) return pictures;
  const answerId = crypto.randomUUID();
  const amended = act(grant, "answer.amended", now, (tx) => {
    const before = versionBefore(tx, grant, input.photoSetId, amendment.basedOn, now);
    if (!before.ok) return before;
    const of = { answerId, version: before.value.version + 1, amendReason: reason, kept: keptFrom(tx, grant, amendment.basedOn) };
    keepSentDraft(tx, grant, input.photoSetId, typed, now);
    const sent = insertAnswer(tx, grant, set, input, pictures.value, of, now);
    return sent.ok ? ok({ objectId: answerId, value: sent.value }) : sent;
  });
  await eraseUnclaimed(pictures.value.map(({ media }) => media.fileId));
  return amended;
}

function versionBefore(tx: Transaction, grant: ChildGrant<"answer.write">, photoSetId: string, basedOn: string, now: number): Result<{ readonly version: number }> {
  const row = tx.select({ voidedAt: photoSets.voidedAt, answerId: answers.id, version: answers.version, publishedAt: answers.publishedAt }).from(photoSets)
    .innerJoin(answers, and(eq(answers.photoSetId, photoSets.id), newestVersion()))
    .where(and(own(photoSets, grant), eq(photoSets.id, photoSetId), isNotNull(photoSets.sentAt))).get();
  if (!row) return refuse("form-invalid", { field: "photoSetId" });
  if (row.voidedAt !== null) return refuse("set-voided");
  if (row.answerId !== basedOn) return refuse("amended-already");
  if (row.publishedAt > now) return refuse("amend-too-soon");
  if (readPhotoConsent(grant, now) !== "given") return refuse("consent-withdrawn");
  return ok({ version: row.version });
}

function keptFrom(tx: Transaction, grant: ChildGrant<"answer.write">, answerId: string): Kept {
  const rows = tx.select({ itemKey: verdicts.itemKey, verdict: verdicts.verdict, judgedAt: verdicts.judgedAt, judgedBy: verdicts.judgedBy })
    .from(verdicts).where(and(own(verdicts, grant), eq(verdicts.answerId, answerId))).all();
  return new Map(rows.map(({ itemKey, ...judged }) => [itemKey, judged]));
}

/** One version as the answering form would hold it, to begin an amendment with; null when there is none such. */
export async function answerAsDraft(grant: ChildGrant<"answer.write">, answerId: string): Promise<AnswerDraft | null> {
  const db = database();
  const answer = db.select().from(answers).where(and(own(answers, grant), eq(answers.id, answerId))).get();
  if (!answer) return null;
  const judged = db.select({ itemKey: verdicts.itemKey, verdict: verdicts.verdict, cue: verdicts.cue, cueId: verdicts.cueId }).from(verdicts)
    .where(and(own(verdicts, grant), eq(verdicts.answerId, answerId))).all();
  const drawn = db.select({ photoId: marks.photoId, body: marks.body }).from(marks).where(and(own(marks, grant), eq(marks.answerId, answerId))).all();
  return {
    ...Object.fromEntries(judged.map((each) => [`verdict.${each.itemKey}`, each.verdict])),
    // The words the family read, whole, beside the cue they were chosen by: the library may have changed since.
    ...Object.fromEntries(judged.flatMap((each) => (each.cue ? [[`words.${each.itemKey}`, each.cue]] : []))),
    ...Object.fromEntries(judged.flatMap((each) => (each.cueId ? [[`cue.${each.itemKey}`, each.cueId]] : []))),
    ...Object.fromEntries(drawn.map((each) => [`marks.${each.photoId}`, each.body])),
    ...Object.fromEntries((spansOf(grant, [answerId]).get(answerId) ?? []).map((span) => [spanField(span.photoId), spellSpan(span)])),
    ...Object.fromEntries(pairIdsOf(grant, answerId).map((pair, at) => [`pair.${at + 1}`, `${pair.thenPhotoId}:${pair.nowPhotoId}`])),
    ...(answer.voiceNoteId ? { voice: answer.voiceNoteId } : {}),
    summary: answer.kind === "answer" ? answer.summary : "", nextStep: answer.nextStep, nextView: answer.nextView ?? "any", sideReason: answer.sideReason,
  };
}
