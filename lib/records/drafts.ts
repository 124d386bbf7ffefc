import "server-only";
import { and, eq, isNotNull } from "drizzle-orm";
import { z } from "zod";
import { database, type Transaction } from "@/db/client";
import { drafts } from "@/db/schema/answers";
import { photoSets } from "@/db/schema/photos";
import type { ChildGrant } from "@/lib/access/grant";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { own } from "@/lib/records/child-facts";
import { forgetSentDrafts } from "@/lib/records/sent-drafts";

/** The answering form field by field, as typed, chosen and drawn so far; unchecked until it is sent. */
export const AnswerDraft = z.record(z.string().max(128), z.string().max(300_000))
  .refine((fields) => Object.keys(fields).length <= 200 && JSON.stringify(fields).length <= 1_200_000);
export type AnswerDraft = z.output<typeof AnswerDraft>;

export type SavedDraft = { readonly fields: AnswerDraft; readonly version: number; readonly savedAt: number };

/** This person's own draft of an answer; nobody else's. */
export async function draftOf(grant: ChildGrant<"answer.write">, photoSetId: string): Promise<SavedDraft | null> {
  return database().transaction((tx) => readDraft(tx, grant, photoSetId));
}

/**
 * Keeps the draft when it builds on the version that is stored (0: none yet), else refuses with
 * `stale-version`, and what is stored stays. It is kept even after somebody else answered first; while
 * this person's own answer can be taken back, its draft is as it was sent (`answered-already`).
 */
export async function saveDraft(
  grant: ChildGrant<"answer.write">,
  photoSetId: string,
  draft: { readonly fields: AnswerDraft; readonly version: number },
  now: number,
): Promise<Result<{ readonly version: number; readonly savedAt: number }>> {
  return database().transaction((tx) => {
    const set = tx.select({ voidedAt: photoSets.voidedAt }).from(photoSets)
      .where(and(own(photoSets, grant), eq(photoSets.id, photoSetId), isNotNull(photoSets.sentAt))).get();
    if (!set) return refuse("form-invalid");
    if (set.voidedAt !== null) return refuse("set-voided");
    forgetSentDrafts(tx, now);
    if (isSent(tx, grant, photoSetId)) return refuse("answered-already");
    const there = readDraft(tx, grant, photoSetId);
    if ((there?.version ?? 0) !== draft.version) return refuse("stale-version");
    const next = { body: JSON.stringify(draft.fields), version: draft.version + 1, savedAt: now };
    if (there) {
      tx.update(drafts).set(next).where(and(own(drafts, grant), eq(drafts.photoSetId, photoSetId), eq(drafts.personId, grant.actor.personId))).run();
    } else {
      tx.insert(drafts).values({
        id: crypto.randomUUID(), childId: grant.childId, familyId: grant.familyId, photoSetId, personId: grant.actor.personId, ...next,
      }).run();
    }
    return ok({ version: next.version, savedAt: now });
  }, { behavior: "immediate" });
}

/**
 * Keeps a form that was sent and refused because somebody was quicker, whatever version it built on: it
 * is the newest this person wrote. False when their own answer was the quicker one; its draft stays.
 */
export async function keepRefused(grant: ChildGrant<"answer.write">, photoSetId: string, fields: AnswerDraft, now: number): Promise<boolean> {
  const stored = await draftOf(grant, photoSetId);
  return (await saveDraft(grant, photoSetId, { fields, version: stored?.version ?? 0 }, now)).ok;
}

const isSent = (tx: Transaction, grant: ChildGrant<"answer.write">, photoSetId: string): boolean =>
  tx.select({ id: drafts.id }).from(drafts)
    .where(and(own(drafts, grant), eq(drafts.photoSetId, photoSetId), eq(drafts.personId, grant.actor.personId), isNotNull(drafts.sentAt))).get() !== undefined;

function readDraft(tx: Transaction, grant: ChildGrant<"answer.write">, photoSetId: string): SavedDraft | null {
  const row = tx.select({ body: drafts.body, version: drafts.version, savedAt: drafts.savedAt, sentAt: drafts.sentAt }).from(drafts)
    .where(and(own(drafts, grant), eq(drafts.photoSetId, photoSetId), eq(drafts.personId, grant.actor.personId))).get();
  return row?.sentAt === null ? { fields: AnswerDraft.parse(JSON.parse(row.body)), version: row.version, savedAt: row.savedAt } : null;
}
