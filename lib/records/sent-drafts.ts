import "server-only";
import { and, eq, exists, gt, isNotNull, isNull, not, sql } from "drizzle-orm";
import { database, type Database, type Transaction } from "@/db/client";
import { answers, drafts } from "@/db/schema/answers";
import type { ChildGrant } from "@/lib/access/grant";
import { runEvery } from "@/lib/jobs/run-every";
import { own } from "@/lib/records/child-facts";
import type { AnswerDraft } from "@/lib/records/drafts";

/**
 * Sets the sender's draft aside while its answer can still be taken back. `typed` is the form as it was
 * sent, newer than what was kept last. For lib/records alone, inside the act that sends.
 */
export function keepSentDraft(tx: Transaction, grant: ChildGrant<"answer.write">, photoSetId: string, typed: AnswerDraft | undefined, now: number): void {
  const body = typed ? { body: JSON.stringify(typed) } : {};
  const mine = and(own(drafts, grant), eq(drafts.photoSetId, photoSetId), eq(drafts.personId, grant.actor.personId));
  // A greater version, so that a page left open elsewhere cannot save over it unasked.
  const kept = tx.update(drafts).set({ ...body, version: sql`${drafts.version} + 1`, savedAt: now, sentAt: now }).where(mine).run();
  if (kept.changes > 0 || !typed) return;
  tx.insert(drafts).values({
    id: crypto.randomUUID(), childId: grant.childId, familyId: grant.familyId, photoSetId, personId: grant.actor.personId,
    body: JSON.stringify(typed), version: 1, savedAt: now, sentAt: now,
  }).run();
}

/** Gives a draft back when its answer is taken back. For lib/records alone, inside that act. */
export function reopenDraft(tx: Transaction, grant: ChildGrant<"answer.write">, photoSetId: string): void {
  tx.update(drafts).set({ sentAt: null })
    .where(and(own(drafts, grant), eq(drafts.photoSetId, photoSetId), eq(drafts.personId, grant.actor.personId))).run();
}

/** Deletes the drafts whose answers are out and can no longer be taken back; their words stand in the answers. */
export function forgetSentDrafts(db: Database | Transaction, now: number): number {
  return db.delete(drafts).where(and(isNotNull(drafts.sentAt), not(exists(db.select({ one: sql`1` }).from(answers).where(and(
    eq(answers.photoSetId, drafts.photoSetId), eq(answers.answeredBy, drafts.personId), isNull(answers.takenBackAt), gt(answers.publishedAt, now),
  )))))).run().changes;
}

const LOOK_MS = 30_000;
/** Forgets them now and then. */
export const startForgettingDrafts = () => runEvery("sent-drafts", LOOK_MS, (now) => {
  forgetSentDrafts(database(), now);
});
