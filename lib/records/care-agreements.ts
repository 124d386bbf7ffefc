import "server-only";
import { and, desc, eq } from "drizzle-orm";
import type { Transaction } from "@/db/client";
import { careAgreements, careLinks } from "@/db/schema/care";
import { openLinks } from "@/lib/access/care-reach";
import type { ChildGrant, FamilyGrant } from "@/lib/access/grant";
import type { Agreement } from "@/lib/domain/policy/care";
import { ok, refuse, type Problem, type Result } from "@/lib/domain/result";
import { act } from "@/lib/records/act";
import type { ChildRef } from "@/lib/records/child-facts";
import { cutOff } from "@/lib/records/cut-off";

/** An adult lets a guardian go on seeing what is theirs, or no longer; what the law decides is not theirs to change here. */
export async function decideAgreement(
  grant: ChildGrant<"care.agree">,
  input: { readonly guardianId: string; readonly decision: "agreed" | "ended" },
  now: number,
): Promise<Result<null>> {
  return act(grant, `care.${input.decision}`, now, (tx) => {
    const refused = decide(tx, grant, { ...input, decidedBy: grant.actor.personId, note: "" }, now);
    return refused ? { ok: false, problem: refused } : ok({ objectId: input.guardianId, value: null });
  });
}

/** The same for an adult without a sign-in of their own, by staff who were told or shown it, with how they know. */
export async function recordAgreement(
  grant: FamilyGrant<"family.invite">,
  input: { readonly guardianId: string; readonly careOf: string; readonly decision: Agreement; readonly note: string },
  now: number,
): Promise<Result<null>> {
  if (input.note.trim() === "") return refuse("reason-missing", { field: "note" });
  const ref = { childId: input.careOf, familyId: grant.familyId };
  return act(grant, `care.${input.decision}`, now, (tx) => {
    const refused = decide(tx, ref, { ...input, decidedBy: grant.actor.personId, note: input.note.trim() }, now);
    return refused ? { ok: false, problem: refused } : ok({ objectId: input.guardianId, value: null });
  });
}

type Decided = { readonly guardianId: string; readonly decision: Agreement; readonly decidedBy: string; readonly note: string };

/** Null when it is written down. Only an adult agrees, and only to an open link of a guardian. */
function decide(tx: Transaction, ref: ChildRef, { guardianId, decision, decidedBy, note }: Decided, now: number): Problem | null {
  const { childId, familyId } = ref;
  const link = openLinks(tx, and(eq(careLinks.personId, guardianId), eq(careLinks.childId, childId), eq(careLinks.familyId, familyId)), now)[0];
  if (link?.relation !== "guardian") return { code: "stale-version" };
  const isByAdult = note === "";
  if (!link.isAdult || (isByAdult && link.agreement === "represents")) return { code: "form-invalid" };
  const last = tx.select({ sequence: careAgreements.sequence }).from(careAgreements).where(eq(careAgreements.childId, childId))
    .orderBy(desc(careAgreements.sequence)).limit(1).get();
  tx.insert(careAgreements).values({
    id: crypto.randomUUID(), childId, familyId, guardianId, decision, decidedBy, note, decidedAt: now, sequence: (last?.sequence ?? 0) + 1,
  }).run();
  if (decision === "ended") cutOff(tx, { personId: guardianId, childId, familyId }, now);
  return null;
}
