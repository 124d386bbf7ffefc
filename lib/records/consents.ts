import "server-only";
import { and, desc, eq, isNull } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { careLinks, consents } from "@/db/schema/care";
import type { ChildGrant } from "@/lib/access/grant";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { consentText, PURPOSES, type Purpose } from "@/lib/messages/consent-text";
import { act } from "@/lib/records/act";

export const STANDINGS = ["parent", "legal-guardian", "self"] as const;
export type ConsentStanding = (typeof STANDINGS)[number];

export type ConsentView = {
  readonly purpose: Purpose;
  /** The newest decision for this child by anyone who may decide; null when nobody has yet. */
  readonly decision: "given" | "withdrawn" | null;
  readonly decidedAt: number | null;
  /** Whether the decision was about the text of today. */
  readonly isCurrentText: boolean;
  /** "self" when the reader is the one in the photos. */
  readonly relation: "guardian" | "self" | null;
};

export async function consentOf(grant: ChildGrant<"child.read">): Promise<readonly ConsentView[]> {
  return database().transaction((tx) => {
    const relation = relationOf(tx, grant);
    return PURPOSES.map((purpose) => {
      const newest = newestOf(tx, grant, purpose);
      return {
        purpose, decision: newest?.decision ?? null, decidedAt: newest?.decidedAt ?? null,
        isCurrentText: newest?.textVersion === consentText(purpose).version, relation,
      };
    });
  });
}

export type ConsentDecision = {
  readonly purpose: Purpose;
  readonly decision: "given" | "withdrawn";
  /** Asked when giving; withdrawing asks nothing. */
  readonly standing: ConsentStanding | null;
  readonly textVersion: string;
};

/** Appends a decision. Giving is about the text on the page, which must be today's; withdrawing always works. */
export async function decideConsent(grant: ChildGrant<"consent.give">, input: ConsentDecision, now: number): Promise<Result<null>> {
  const text = consentText(input.purpose);
  if (input.decision === "given" && input.textVersion !== text.version) return refuse("stale-version");
  return act(grant, `consent.${input.purpose}.${input.decision}`, now, (tx) => {
    const relation = relationOf(tx, grant);
    if (relation === null) return refuse("form-invalid");
    const standing = input.standing ?? (input.decision === "withdrawn" ? (relation === "self" ? "self" : "legal-guardian") : null);
    if (standing === null || (standing === "self") !== (relation === "self")) return refuse("form-invalid", { field: "standing" });
    const id = crypto.randomUUID();
    tx.insert(consents).values({
      id, childId: grant.childId, familyId: grant.familyId, personId: grant.actor.personId, purpose: input.purpose, decision: input.decision,
      textVersion: text.version, textHash: text.hash, standing, decidedAt: now, sequence: nextSequence(tx, grant.childId),
    }).run();
    return ok({ objectId: id, value: null });
  });
}

type Own = { readonly childId: string; readonly familyId: string };

function newestOf(tx: Transaction, { childId, familyId }: Own, purpose: Purpose) {
  return tx.select({ decision: consents.decision, decidedAt: consents.decidedAt, textVersion: consents.textVersion }).from(consents)
    .where(and(eq(consents.childId, childId), eq(consents.familyId, familyId), eq(consents.purpose, purpose)))
    .orderBy(desc(consents.sequence)).limit(1).get();
}

function nextSequence(tx: Transaction, childId: string): number {
  const last = tx.select({ sequence: consents.sequence }).from(consents).where(eq(consents.childId, childId)).orderBy(desc(consents.sequence)).limit(1).get();
  return (last?.sequence ?? 0) + 1;
}

function relationOf(tx: Transaction, { actor, childId, familyId }: Own & { readonly actor: { readonly personId: string } }) {
  return tx.select({ relation: careLinks.relation }).from(careLinks)
    .where(and(eq(careLinks.personId, actor.personId), eq(careLinks.childId, childId), eq(careLinks.familyId, familyId), isNull(careLinks.endedAt)))
    .get()?.relation ?? null;
}
