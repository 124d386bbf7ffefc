import "server-only";
import { and, eq, inArray, min, sql } from "drizzle-orm";
import { database } from "@/db/client";
import { OF_CHILD, prepared } from "@/db/prepared";
import { answerOpenings, answers } from "@/db/schema/answers";
import { isStaff } from "@/lib/access/actor";
import type { ChildGrant } from "@/lib/access/grant";
import { ok, refuse } from "@/lib/domain/result";
import { act } from "@/lib/records/act";
import { readCarers } from "@/lib/records/carers";
import { own, type ChildRef } from "@/lib/records/child-facts";
import { inForce } from "@/lib/records/in-force";

const openedBy = prepared((db) => db.select({ id: answerOpenings.answerId }).from(answerOpenings)
  .where(and(own(answerOpenings, OF_CHILD), eq(answerOpenings.personId, sql.placeholder("personId")))).prepare());

/**
 * Keeps that a carer had these answers before them, once for each: what is open already costs one read. Only answers of this
 * child that are in force; what staff look at is no opening.
 */
export async function markOpened(grant: ChildGrant<"child.read">, answerIds: readonly string[], now: number): Promise<void> {
  if (isStaff(grant.actor.role) || answerIds.length === 0) return;
  const { childId, familyId, actor: { personId } } = grant;
  const before = new Set(openedBy().all({ childId, familyId, personId }).map(({ id }) => id));
  const fresh = answerIds.filter((id) => !before.has(id));
  if (fresh.length === 0) return;
  act({ ...grant, once: null }, "answer.opened", now, (tx) => {
    const readable = tx.select({ answerId: answers.id }).from(answers).where(and(own(answers, grant), inArray(answers.id, fresh), inForce(now))).all();
    const [first] = readable;
    if (!first) return refuse("stale-version");
    for (const { answerId } of readable) {
      tx.insert(answerOpenings).values({ answerId, childId: grant.childId, familyId: grant.familyId, personId, openedAt: now }).onConflictDoNothing().run();
    }
    return ok({ objectId: first.answerId, value: null });
  });
}

/** When one of those who care for the child now first had this answer before them; null for never. For lib/records alone. */
export function openedAt(ref: ChildRef, answerId: string, now: number): number | null {
  const carers = readCarers(ref, now).map(({ personId }) => personId);
  return database().select({ at: min(answerOpenings.openedAt) }).from(answerOpenings)
    .where(and(own(answerOpenings, ref), eq(answerOpenings.answerId, answerId), inArray(answerOpenings.personId, carers))).get()?.at ?? null;
}
