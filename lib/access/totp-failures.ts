import "server-only";
import { eq, sql } from "drizzle-orm";
import type { Transaction } from "@/db/client";
import { totpFailures } from "@/db/schema/sign-in";

/**
 * NIST SP 800-63B-4, 3.2.2: at most 100 failures in a row for one account. Then six digits no longer count;
 * what nobody can guess still does: a passkey or a recovery code, which also opens them again.
 */
export const MAX_TOTP_FAILURES = 100;

export const isTotpClosed = (tx: Transaction, personId: string): boolean =>
  (tx.select({ failures: totpFailures.failures }).from(totpFailures).where(eq(totpFailures.personId, personId)).get()?.failures ?? 0) >= MAX_TOTP_FAILURES;

export function noteTotpFailure(tx: Transaction, personId: string, now: number): void {
  tx.insert(totpFailures).values({ personId, failures: 1, lastAt: now })
    .onConflictDoUpdate({ target: totpFailures.personId, set: { failures: sql`${totpFailures.failures} + 1`, lastAt: now } }).run();
}

export function forgetTotpFailures(tx: Transaction, personId: string): void {
  tx.delete(totpFailures).where(eq(totpFailures.personId, personId)).run();
}
