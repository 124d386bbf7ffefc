import "server-only";
import { and, eq, isNull } from "drizzle-orm";
import { database } from "@/db/client";
import { sessions } from "@/db/schema/sign-in";
import type { SelfGrant } from "@/lib/access/grant";
import { codeOpenUntil, spendCode, writeCode } from "@/lib/access/mailed-code";
import { proofOf } from "@/lib/access/mailed-proof";
import { appendAudit } from "@/lib/audit/append";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { addNotice } from "@/lib/notices/add";

/**
 * A carer has no second step: a code goes to their mailbox once more, and counts in the session that asked for it
 * alone. Whoever found an open phone does not have it.
 */
export async function askForProof(grant: SelfGrant<"mail-proof.show">, now: number): Promise<Result<null>> {
  const { personId, sessionId } = grant.actor;
  return database().transaction((tx) => {
    const made = writeCode(tx, proofOf(personId, sessionId), { networkHash: null, personId }, now);
    if (!made) return refuse("proofs-asked-often");
    addNotice(tx, { kind: "proof-code", personId, dedupeKey: `proof-code:${made.id}`, values: { code: made.code }, now });
    return ok(null);
  }, { behavior: "immediate" });
}

/** From now on this session has shown who it is. */
export async function showProof(grant: SelfGrant<"mail-proof.show">, typed: string, now: number): Promise<Result<null>> {
  const { personId, sessionId, role, requestId } = grant.actor;
  const what = proofOf(personId, sessionId);
  return database().transaction((tx) => {
    const spent = spendCode(tx, what, typed, now);
    if (!spent.ok) return spent.problem.code === "code-closed" ? refuse("proof-closed", { field: "code" }) : spent;
    tx.update(sessions).set({ mailProvedAt: now }).where(and(eq(sessions.tokenHash, sessionId), eq(sessions.personId, personId), isNull(sessions.endedAt))).run();
    appendAudit(tx, { at: now, actorId: personId, role, act: what.act, objectId: personId, familyId: null, outcome: "done", requestId, sessionHash: sessionId });
    return ok(null);
  }, { behavior: "immediate" });
}

/** Until when a code that was mailed can be typed; null when there is none. */
export async function proofAsked(grant: SelfGrant<"mail-proof.show">, now: number): Promise<number | null> {
  const { personId, sessionId } = grant.actor;
  return database().transaction((tx) => codeOpenUntil(tx, proofOf(personId, sessionId).whose, now));
}
