import "server-only";
import { and, asc, eq, gt, isNull, sql } from "drizzle-orm";
import { prepared } from "@/db/prepared";
import { answers } from "@/db/schema/answers";
import { children, families } from "@/db/schema/care";
import { notices } from "@/db/schema/machinery";
import { photoSets } from "@/db/schema/photos";
import { people } from "@/db/schema/practice";
import type { ChildGrant, PracticeGrant } from "@/lib/access/grant";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { ofObject } from "@/lib/notices/of-object";
import { act } from "@/lib/records/act";
import { own } from "@/lib/records/child-facts";
import { reopenDraft } from "@/lib/records/sent-drafts";

/**
 * Takes an answer back before the family can have read it: the photo set waits again (or stands as
 * answered before, when this was an amendment), the draft is there as it was sent, and its mail never
 * leaves. Only its author may. Refused: `taken-back-late` once it is published, taken back or not theirs.
 */
export async function takeBackAnswer(grant: ChildGrant<"answer.write">, answerId: string, now: number): Promise<Result<{ readonly photoSetId: string }>> {
  return act(grant, "answer.taken-back", now, (tx) => {
    const mine = and(own(answers, grant), eq(answers.id, answerId), eq(answers.answeredBy, grant.actor.personId));
    const row = tx.select({ photoSetId: answers.photoSetId }).from(answers).innerJoin(photoSets, eq(photoSets.id, answers.photoSetId))
      .where(and(mine, isNull(answers.takenBackAt), gt(answers.publishedAt, now), isNull(photoSets.voidedAt))).get();
    if (!row) return refuse("taken-back-late");
    tx.update(answers).set({ takenBackAt: now }).where(mine).run();
    tx.update(notices).set({ gaveUpAt: now })
      .where(and(eq(notices.kind, "answer"), ofObject("answer", answerId), isNull(notices.sentAt))).run();
    reopenDraft(tx, grant, row.photoSetId);
    return ok({ objectId: answerId, value: row });
  });
}

/** An answer that was sent and is not out yet. */
export type PendingAnswer = {
  readonly answerId: string;
  readonly photoSetId: string;
  readonly childId: string;
  readonly childName: string;
  readonly answeredBy: string;
  readonly publishedAt: number;
  readonly isMine: boolean;
};

const stillOut = prepared((db) => db.select({
  answerId: answers.id, photoSetId: answers.photoSetId, childId: answers.childId, childName: children.givenName,
  answeredBy: people.name, personId: answers.answeredBy, publishedAt: answers.publishedAt,
}).from(answers)
  .innerJoin(families, eq(families.id, answers.familyId))
  .innerJoin(children, eq(children.id, answers.childId))
  .innerJoin(people, eq(people.id, answers.answeredBy))
  .innerJoin(photoSets, eq(photoSets.id, answers.photoSetId))
  .where(and(eq(families.practiceId, sql.placeholder("practiceId")), isNull(answers.takenBackAt), gt(answers.publishedAt, sql.placeholder("now")), isNull(photoSets.voidedAt)))
  .orderBy(asc(answers.publishedAt)).prepare());

/** Everything of this practice that was sent and can still be taken back by its author, the soonest out first. */
export async function pendingAnswers(grant: PracticeGrant<"queue.read">, now: number): Promise<readonly PendingAnswer[]> {
  return stillOut().all({ practiceId: grant.practiceId, now }).map(({ personId, ...row }) => ({ ...row, isMine: personId === grant.actor.personId }));
}
