import "server-only";
import { and, desc, eq } from "drizzle-orm";
import { database } from "@/db/client";
import { children, consents, families } from "@/db/schema/care";
import { practices } from "@/db/schema/practice";
import { reachedOn } from "@/lib/domain/policy/care";
import { instantOf } from "@/lib/domain/time/local";
import type { Purpose } from "@/lib/messages/consent-text";
import type { ChildRef } from "@/lib/records/child-facts";

export type ConsentInForce = { readonly decision: "given" | "withdrawn"; readonly decidedAt: number; readonly textVersion: string };

/**
 * The newest decision for one purpose, or null when nobody has decided yet. What a guardian gave before the
 * child became an adult counts no longer: an adult is asked themself. What was taken back stays so.
 */
export function readConsent(ref: ChildRef, purpose: Purpose, now: number): ConsentInForce | null {
  const newest = database().select({ decision: consents.decision, decidedAt: consents.decidedAt, textVersion: consents.textVersion }).from(consents)
    .where(and(eq(consents.childId, ref.childId), eq(consents.familyId, ref.familyId), eq(consents.purpose, purpose))).orderBy(desc(consents.sequence)).limit(1).get();
  return newest && isInForce(newest, adultSince(ref), now) ? newest : null;
}

/** Whether a newest decision still counts for a child who decides alone from `adultAt` on. */
export const isInForce = (newest: Pick<ConsentInForce, "decision" | "decidedAt">, adultAt: number, now: number): boolean =>
  !(newest.decision === "given" && newest.decidedAt < adultAt && now >= adultAt);

/** The instant from which the child decides alone, past or to come. */
function adultSince(ref: ChildRef): number {
  const row = database().select({ bornIn: children.bornIn, adultAge: practices.adultAge, zone: practices.timeZone }).from(children)
    .innerJoin(families, eq(families.id, children.familyId)).innerJoin(practices, eq(practices.id, families.practiceId))
    .where(and(eq(children.id, ref.childId), eq(children.familyId, ref.familyId))).get();
  if (!row) throw new Error("a granted child is missing");
  return instantOf(reachedOn(row.bornIn, row.adultAge), 0, row.zone);
}
