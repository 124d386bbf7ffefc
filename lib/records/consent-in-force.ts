import "server-only";
import { and, desc, eq, inArray, sql } from "drizzle-orm";
import { database } from "@/db/client";
import { OF_CHILD, prepared } from "@/db/prepared";
import { children, consents, families } from "@/db/schema/care";
import { practices } from "@/db/schema/practice";
import { reachedOn } from "@/lib/domain/policy/care";
import { instantOf } from "@/lib/domain/time/local";
import type { Purpose } from "@/lib/messages/consent-text";
import type { ChildRef } from "@/lib/records/child-facts";
import { inChunks } from "@/lib/records/in-chunks";

export type ConsentInForce = { readonly decision: "given" | "withdrawn"; readonly decidedAt: number; readonly textVersion: string };

const newestDecision = prepared((db) => db.select({ decision: consents.decision, decidedAt: consents.decidedAt, textVersion: consents.textVersion }).from(consents)
  .where(and(eq(consents.childId, OF_CHILD.childId), eq(consents.familyId, OF_CHILD.familyId), eq(consents.purpose, sql.placeholder("purpose")))).orderBy(desc(consents.sequence)).limit(1).prepare());

const ageOfChild = prepared((db) => db.select({ bornIn: children.bornIn, adultAge: practices.adultAge, zone: practices.timeZone }).from(children)
  .innerJoin(families, eq(families.id, children.familyId)).innerJoin(practices, eq(practices.id, families.practiceId))
  .where(and(eq(children.id, OF_CHILD.childId), eq(children.familyId, OF_CHILD.familyId))).prepare());

/**
 * The newest decision for one purpose, or null when nobody has decided yet. What a guardian gave before the
 * child became an adult counts no longer: an adult is asked themself. What was taken back stays so.
 */
export function readConsent({ childId, familyId }: ChildRef, purpose: Purpose, now: number): ConsentInForce | null {
  const newest = newestDecision().get({ childId, familyId, purpose });
  return newest && isInForce(newest, adultSince({ childId, familyId }), now) ? newest : null;
}

/** Whether a newest decision still counts for a child who decides alone from `adultAt` on. */
export const isInForce = (newest: Pick<ConsentInForce, "decision" | "decidedAt">, adultAt: number, now: number): boolean =>
  !(newest.decision === "given" && newest.decidedAt < adultAt && now >= adultAt);

/** Those of these children whose photos may be looked at, by the same rule, in one statement for many. */
export function readConsenting(childIds: readonly string[], now: number): ReadonlySet<string> {
  const newest = sql`from ${consents} where ${consents.childId} = ${children.id} and ${consents.familyId} = ${children.familyId}
    and ${consents.purpose} = 'photos' order by ${consents.sequence} desc limit 1`;
  const rows = inChunks(childIds, (some) => database().select({
    childId: children.id, bornIn: children.bornIn, adultAge: practices.adultAge, zone: practices.timeZone,
    decision: sql<ConsentInForce["decision"] | null>`(select ${consents.decision} ${newest})`, decidedAt: sql<number | null>`(select ${consents.decidedAt} ${newest})`,
  }).from(children).innerJoin(families, eq(families.id, children.familyId)).innerJoin(practices, eq(practices.id, families.practiceId))
    .where(inArray(children.id, some)).all());
  return new Set(rows.flatMap(({ childId, decision, decidedAt, bornIn, adultAge, zone }) =>
    decision === "given" && decidedAt !== null && isInForce({ decision, decidedAt }, instantOf(reachedOn(bornIn, adultAge), 0, zone), now) ? [childId] : []));
}

/** The instant from which the child decides alone, past or to come. */
function adultSince({ childId, familyId }: ChildRef): number {
  const row = ageOfChild().get({ childId, familyId });
  if (!row) throw new Error("a granted child is missing");
  return instantOf(reachedOn(row.bornIn, row.adultAge), 0, row.zone);
}
