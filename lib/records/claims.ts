import "server-only";
import { and, eq, gt, isNotNull, isNull } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { answers, claims } from "@/db/schema/answers";
import { photoSets } from "@/db/schema/photos";
import { people } from "@/db/schema/practice";
import type { ChildGrant } from "@/lib/access/grant";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { own, readPhotoConsent } from "@/lib/records/child-facts";
import { firstAnswer } from "@/lib/records/in-force";

/** Idle so long, a claim lapses and the set is anybody's again. */
export const CLAIM_MS = 10 * 60_000;

export type Claim = { readonly personId: string; readonly name: string; readonly lapsesAt: number };

/**
 * Says to colleagues that this person is answering, or goes on saying it. A colleague's claim that
 * has not lapsed is answered with that claim, unless it is taken over. A claim never decides whose
 * answer counts: the first one sent does. Refused: `set-voided`, `answered-already`, `consent-withdrawn`, `form-invalid`.
 */
export async function claimSet(grant: ChildGrant<"answer.write">, photoSetId: string, takeOver: boolean, now: number): Promise<Result<Claim>> {
  return database().transaction((tx) => {
    const set = tx.select({ voidedAt: photoSets.voidedAt, answerId: answers.id }).from(photoSets)
      .leftJoin(answers, and(eq(answers.photoSetId, photoSets.id), firstAnswer()))
      .where(and(own(photoSets, grant), eq(photoSets.id, photoSetId), isNotNull(photoSets.sentAt))).get();
    if (!set) return refuse("form-invalid");
    if (set.voidedAt !== null) return refuse("set-voided");
    if (set.answerId !== null) return refuse("answered-already");
    if (readPhotoConsent(grant, now) !== "given") return refuse("consent-withdrawn");
    const held = claimOn(tx, photoSetId, now);
    if (held && held.personId !== grant.actor.personId && !takeOver) return ok(held);
    const mine = { personId: grant.actor.personId, claimedAt: now, lapsesAt: now + CLAIM_MS };
    tx.insert(claims).values({ photoSetId, ...mine })
      .onConflictDoUpdate({ target: claims.photoSetId, set: held?.personId === mine.personId ? { lapsesAt: mine.lapsesAt } : mine }).run();
    return ok({ personId: mine.personId, name: grant.actor.name, lapsesAt: mine.lapsesAt });
  }, { behavior: "immediate" });
}

/** Who is answering this set now, if anybody. For lib/records alone: the caller has the grant. */
export function claimOn(db: Transaction, photoSetId: string, now: number): Claim | null {
  return db.select({ personId: claims.personId, name: people.name, lapsesAt: claims.lapsesAt }).from(claims)
    .innerJoin(people, eq(people.id, claims.personId))
    .where(and(eq(claims.photoSetId, photoSetId), gt(claims.lapsesAt, now), isNull(people.disabledAt))).get() ?? null;
}
