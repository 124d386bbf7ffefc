import "server-only";
import { desc, eq } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { consents } from "@/db/schema/care";
import { linkTo } from "@/lib/access/care-reach";
import type { ChildGrant } from "@/lib/access/grant";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { consentText, PURPOSES, type Purpose } from "@/lib/messages/consent-text";
import { act } from "@/lib/records/act";
import { endExports } from "@/lib/records/export-files";
import { readConsent } from "@/lib/records/consent-in-force";

export const STANDINGS = ["parent", "legal-guardian", "self"] as const;
export type ConsentStanding = (typeof STANDINGS)[number];

export type ConsentView = {
  readonly purpose: Purpose;
  /** The newest decision for this child by anyone who may decide; null when nobody has yet. */
  readonly decision: "given" | "withdrawn" | null;
  readonly decidedAt: number | null;
  /** Whether the decision was about the text of today. */
  readonly isCurrentText: boolean;
  /** As what this reader may decide; empty for who may not. */
  readonly standings: readonly ConsentStanding[];
};

export async function consentOf(grant: ChildGrant<"child.read">, now: number): Promise<readonly ConsentView[]> {
  const standings = database().transaction((tx) => standingsOf(tx, grant, now));
  return PURPOSES.map((purpose) => {
    const newest = readConsent(grant, purpose, now);
    return {
      purpose, decision: newest?.decision ?? null, decidedAt: newest?.decidedAt ?? null,
      isCurrentText: newest?.textVersion === consentText(purpose, grant.actor.reader).version, standings,
    };
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
  const text = consentText(input.purpose, grant.actor.reader);
  if (input.decision === "given" && input.textVersion !== text.version) return refuse("stale-version");
  return act(grant, `consent.${input.purpose}.${input.decision}`, now, (tx) => {
    const may = standingsOf(tx, grant, now);
    const standing = input.standing ?? (input.decision === "withdrawn" ? may.at(-1) : undefined);
    if (standing === undefined || !may.includes(standing)) return refuse("form-invalid", { field: "standing" });
    const id = crypto.randomUUID();
    tx.insert(consents).values({
      id, childId: grant.childId, familyId: grant.familyId, personId: grant.actor.personId, purpose: input.purpose, decision: input.decision,
      textVersion: text.version, textHash: text.hash, standing, decidedAt: now, sequence: nextSequence(tx, grant.childId),
    }).run();
    // What was made while the pictures were open holds them.
    if (input.purpose === "photos" && input.decision === "withdrawn") endExports(tx, grant, undefined, now);
    return ok({ objectId: id, value: null });
  });
}

function nextSequence(tx: Transaction, childId: string): number {
  const last = tx.select({ sequence: consents.sequence }).from(consents).where(eq(consents.childId, childId)).orderBy(desc(consents.sequence)).limit(1).get();
  return (last?.sequence ?? 0) + 1;
}

/** An adult decides as themself, and nobody decides for one as a parent. */
function standingsOf(tx: Transaction, { actor, childId }: ChildGrant<"child.read" | "consent.give">, now: number): readonly ConsentStanding[] {
  const link = linkTo(actor, childId, now);
  if (link?.reach !== "decide") return [];
  if (link.relation === "self") return ["self"];
  return link.agreement === "represents" ? ["legal-guardian"] : ["parent", "legal-guardian"];
}
