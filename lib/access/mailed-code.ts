import "server-only";
import { randomInt, randomUUID } from "node:crypto";
import { and, desc, eq, gt, isNull, lt, sql } from "drizzle-orm";
import type { Transaction } from "@/db/client";
import { signInCodes, signInFailures } from "@/db/schema/sign-in";
import { isSame, keyedHash, randomToken, tokenHash } from "@/lib/access/sealed";
import { appendAudit } from "@/lib/audit/append";
import { ok, refuse, type Result } from "@/lib/domain/result";

const MINUTE_MS = 60_000;
export const DAY_MS = 1440 * MINUTE_MS;
/** OWASP ASVS 5.0, 6.5.5: at most ten minutes. */
export const CODE_LIFE_MS = 10 * MINUTE_MS;
const MAX_TRIES = 5;
/** So many mails in so long, for one address, known or not. The figures are ours. */
const MAIL_LIMITS = [[3, 15 * MINUTE_MS], [10, DAY_MS]] as const;
/** NIST SP 800-63B-4, 3.2.2: at most 100 failures in a row for one account. */
const MAX_FAILURES = 100;
/** What nobody asks for again is not kept for good; a hundred tries a year find nothing among 10^8 codes. */
const FAILURES_KEPT_MS = 365 * DAY_MS;

const EIGHT_DIGITS = 100_000_000;

/**
 * What a code is made for: `whose` is a keyed hash under a purpose of its own (an address that wants to sign in, a
 * person who shows that it is them), and nothing made for one is found by the other. `bound` is what the code counts
 * for besides, hashed with it.
 */
export type CodeFor = { readonly whose: string; readonly bound: string; readonly act: string };

/** The newest code replaces those before it. Null when this was asked for too often; nothing is written then. */
export function writeCode(
  tx: Transaction,
  { whose, bound }: Pick<CodeFor, "whose" | "bound">,
  { networkHash, personId }: { readonly networkHash: string | null; readonly personId: string | null },
  now: number,
): { readonly id: string; readonly code: string; readonly key: string } | null {
  tx.delete(signInCodes).where(lt(signInCodes.createdAt, now - 2 * DAY_MS)).run();
  tx.delete(signInFailures).where(lt(signInFailures.lastAt, now - FAILURES_KEPT_MS)).run();
  if (MAIL_LIMITS.some(([most, span]) => askedSince(tx, whose, now - span) >= most)) return null;
  const id = randomUUID();
  const code = String(randomInt(EIGHT_DIGITS)).padStart(8, "0");
  const key = randomToken();
  tx.update(signInCodes).set({ replacedAt: now }).where(and(eq(signInCodes.addressHash, whose), isNull(signInCodes.replacedAt))).run();
  tx.insert(signInCodes).values({
    id, addressHash: whose, networkHash, personId, codeHash: codeHash(id, code, bound), linkHash: tokenHash(key), createdAt: now, expiresAt: now + CODE_LIFE_MS,
  }).run();
  return { id, code, key };
}

/** The person whose newest code this is. Each try counts, right or wrong; what is refused stays counted. */
export function spendCode(tx: Transaction, { whose, bound, act }: CodeFor, typed: string, now: number): Result<{ readonly personId: string }> {
  const row = newestOf(tx, whose);
  if (!row) return refuse("code-wrong", { field: "code" });
  if (now >= row.expiresAt) return refuse("code-expired", { field: "code" });
  if (row.tries >= MAX_TRIES) return refuse("code-used-up", { field: "code" });
  if (failuresOf(tx, whose) >= MAX_FAILURES) return refuse("code-closed", { field: "code" });
  tx.update(signInCodes).set({ tries: row.tries + 1 }).where(eq(signInCodes.id, row.id)).run();
  const isRight = isSame(codeHash(row.id, typed.replace(/\D/g, ""), bound), row.codeHash);
  if (!isRight || row.personId === null) {
    noteRefused(tx, act, row.personId, now);
    tx.insert(signInFailures).values({ addressHash: whose, failures: 1, lastAt: now })
      .onConflictDoUpdate({ target: signInFailures.addressHash, set: { failures: sql`${signInFailures.failures} + 1`, lastAt: now } }).run();
    return refuse("code-wrong", { field: "code" });
  }
  tx.update(signInCodes).set({ usedAt: now }).where(eq(signInCodes.id, row.id)).run();
  forgetFailures(tx, whose);
  return ok({ personId: row.personId });
}

/** When the newest code stops working that could still be typed; null without one. */
export function codeOpenUntil(tx: Transaction, whose: string, now: number): number | null {
  const row = newestOf(tx, whose);
  return row && now < row.expiresAt && row.tries < MAX_TRIES ? row.expiresAt : null;
}

export function forgetFailures(tx: Transaction, whose: string): void {
  tx.delete(signInFailures).where(eq(signInFailures.addressHash, whose)).run();
}

export function noteRefused(tx: Transaction, act: string, personId: string | null, now: number): void {
  appendAudit(tx, {
    at: now, actorId: personId, role: null, act, objectId: null, familyId: null, outcome: "refused", requestId: null, sessionHash: null,
  });
}

const newestOf = (tx: Transaction, whose: string): typeof signInCodes.$inferSelect | undefined =>
  tx.select().from(signInCodes).where(and(eq(signInCodes.addressHash, whose), isNull(signInCodes.replacedAt), isNull(signInCodes.usedAt)))
    .orderBy(desc(signInCodes.createdAt)).limit(1).get();

function askedSince(tx: Transaction, whose: string, since: number): number {
  return tx.select({ id: signInCodes.id }).from(signInCodes).where(and(eq(signInCodes.addressHash, whose), gt(signInCodes.createdAt, since))).all().length;
}

function failuresOf(tx: Transaction, whose: string): number {
  return tx.select({ failures: signInFailures.failures }).from(signInFailures).where(eq(signInFailures.addressHash, whose)).get()?.failures ?? 0;
}

/** Keyed and bound to its row: eight digits alone could be found by trying them all. */
const codeHash = (id: string, code: string, bound: string): string => keyedHash("code", `${id}:${bound}${code}`);
