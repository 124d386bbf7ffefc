import "server-only";
import { randomUUID } from "node:crypto";
import type { Transaction } from "@/db/client";
import { forgetTotpFailures, isTotpClosed, noteTotpFailure } from "@/lib/access/totp-failures";
import { appendAudit } from "@/lib/audit/append";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { addNotice } from "@/lib/notices/add";

export type Factor = "totp" | "passkey" | "recovery-code";

/**
 * What follows from a member of staff showing a second factor that stands, right or wrong, wherever it is
 * asked for: counted, written down, and for a recovery code told by mail. `totp-closed` once too many codes
 * in a row were wrong; whatever nobody can guess opens them again.
 */
export function showFactor(tx: Transaction, personId: string, factor: Factor, now: number, isShown: () => boolean): Result<null> {
  if (factor === "totp" && isTotpClosed(tx, personId)) return refuse("totp-closed", { field: "code" });
  const isRight = isShown();
  if (isRight) forgetTotpFailures(tx, personId);
  else if (factor === "totp") noteTotpFailure(tx, personId, now);
  noteFactor(tx, personId, factor === "recovery-code" ? "recovery-code.used" : "second-factor.shown", isRight, now);
  if (isRight && factor === "recovery-code") addNotice(tx, { kind: "recovery-code-used", personId, dedupeKey: `recovery-code-used:${randomUUID()}`, now });
  if (isRight) return ok(null);
  return refuse(factor === "recovery-code" ? "recovery-code-wrong" : "second-factor-wrong", { field: "code" });
}

export function noteFactor(tx: Transaction, personId: string, act: string, isDone: boolean, now: number): void {
  appendAudit(tx, {
    at: now, actorId: personId, role: null, act, objectId: personId, familyId: null, outcome: isDone ? "done" : "refused", requestId: null, sessionHash: null,
  });
}
