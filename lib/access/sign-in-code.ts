import "server-only";
import { randomInt, randomUUID } from "node:crypto";
import { and, desc, eq, gt, isNull, lt, lte, sql } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { people } from "@/db/schema/practice";
import { signInCodes, signInFailures } from "@/db/schema/sign-in";
import { isSame, keyedHash, randomToken, tokenHash } from "@/lib/access/sealed";
import { appendAudit } from "@/lib/audit/append";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { addNotice } from "@/lib/notices/add";

const MINUTE_MS = 60_000;
const DAY_MS = 1440 * MINUTE_MS;
/** OWASP ASVS 5.0, 6.5.5: at most ten minutes. */
export const CODE_LIFE_MS = 10 * MINUTE_MS;
const MAX_TRIES = 5;
/** So many mails in so long, for one address, known or not. The figures are ours. */
const MAIL_LIMITS = [[3, 15 * MINUTE_MS], [10, DAY_MS]] as const;
/** And so many from one network, whoever they are for. The figures are ours. */
const NETWORK_LIMIT = 20;
const NETWORK_SPAN_MS = 60 * MINUTE_MS;
/**
 * NIST SP 800-63B-4, 3.2.2: at most 100 failures in a row for one account. Then only the link signs in,
 * which nobody can guess; so nobody can lock a family out either.
 */
const MAX_FAILURES = 100;
/** An address that nobody has is not kept for good; a hundred tries a year find nothing among 10^8 codes. */
const FAILURES_KEPT_MS = 365 * DAY_MS;

const EIGHT_DIGITS = 100_000_000;

/**
 * Makes a code and a link for a normalised address and puts their mail into the outbox, when somebody
 * here has that address. An address nobody has leaves the same row, does the same work, and gets no mail.
 * Refuses `codes-asked-often` by the network alone, which says nothing about the address.
 */
export function askForCode(address: string, network: string, now: number): Result<null> {
  const networkHash = keyedHash("network", network);
  const addressHash = keyedHash("address", address);
  const id = randomUUID();
  const code = String(randomInt(EIGHT_DIGITS)).padStart(8, "0");
  const key = randomToken();
  return database().transaction((tx) => {
    tx.delete(signInCodes).where(lt(signInCodes.createdAt, now - 2 * DAY_MS)).run();
    tx.delete(signInFailures).where(lt(signInFailures.lastAt, now - FAILURES_KEPT_MS)).run();
    tx.update(signInCodes).set({ networkHash: null }).where(lte(signInCodes.createdAt, now - NETWORK_SPAN_MS)).run();
    if (askedFrom(tx, networkHash) >= NETWORK_LIMIT) return refuse("codes-asked-often");
    if (MAIL_LIMITS.some(([most, span]) => askedSince(tx, addressHash, now - span) >= most)) return ok(null);
    const person = tx.select({ id: people.id }).from(people).where(and(eq(people.email, address), isNull(people.disabledAt))).get();
    tx.update(signInCodes).set({ replacedAt: now }).where(and(eq(signInCodes.addressHash, addressHash), isNull(signInCodes.replacedAt))).run();
    tx.insert(signInCodes).values({
      id, addressHash, networkHash, personId: person?.id ?? null, codeHash: codeHash(id, code), linkHash: tokenHash(key),
      createdAt: now, expiresAt: now + CODE_LIFE_MS,
    }).run();
    if (person) addNotice(tx, { kind: "sign-in-code", personId: person.id, dedupeKey: `sign-in-code:${id}`, values: { code, key }, now });
    return ok(null);
  }, { behavior: "immediate" });
}

/** The person whose newest code this is. Each try counts, right or wrong; what is refused stays counted. */
export function redeemCode(address: string, typed: string, now: number): Result<{ readonly personId: string }> {
  const addressHash = keyedHash("address", address);
  return database().transaction((tx) => {
    const row = tx.select().from(signInCodes)
      .where(and(eq(signInCodes.addressHash, addressHash), isNull(signInCodes.replacedAt), isNull(signInCodes.usedAt)))
      .orderBy(desc(signInCodes.createdAt)).limit(1).get();
    if (!row) return refuse("code-wrong", { field: "code" });
    if (now >= row.expiresAt) return refuse("code-expired", { field: "code" });
    if (row.tries >= MAX_TRIES) return refuse("code-used-up", { field: "code" });
    if (failuresOf(tx, addressHash) >= MAX_FAILURES) return refuse("code-closed", { field: "code" });
    tx.update(signInCodes).set({ tries: row.tries + 1 }).where(eq(signInCodes.id, row.id)).run();
    const isRight = isSame(codeHash(row.id, typed.replace(/\D/g, "")), row.codeHash);
    if (!isRight || row.personId === null) {
      noteRefused(tx, row.personId, now);
      tx.insert(signInFailures).values({ addressHash, failures: 1, lastAt: now })
        .onConflictDoUpdate({ target: signInFailures.addressHash, set: { failures: sql`${signInFailures.failures} + 1`, lastAt: now } }).run();
      return refuse("code-wrong", { field: "code" });
    }
    tx.update(signInCodes).set({ usedAt: now }).where(eq(signInCodes.id, row.id)).run();
    forgetFailures(tx, addressHash);
    return ok({ personId: row.personId });
  }, { behavior: "immediate" });
}

/**
 * The person whose newest mailed link this is. `address` is what this browser asked for: a link asked for
 * elsewhere signs nobody in, or a stranger could sign a parent into the stranger's own account.
 */
export function redeemLink(address: string, key: string, now: number): Result<{ readonly personId: string }> {
  const addressHash = keyedHash("address", address);
  return database().transaction((tx) => {
    const spent = tx.update(signInCodes).set({ usedAt: now })
      .where(and(
        eq(signInCodes.linkHash, tokenHash(key)), eq(signInCodes.addressHash, addressHash),
        isNull(signInCodes.usedAt), isNull(signInCodes.replacedAt), gt(signInCodes.expiresAt, now),
      )).returning({ personId: signInCodes.personId }).get();
    if (spent?.personId) {
      forgetFailures(tx, addressHash);
      return ok({ personId: spent.personId });
    }
    noteRefused(tx, null, now);
    return refuse("link-spent");
  }, { behavior: "immediate" });
}

function askedSince(tx: Transaction, addressHash: string, since: number): number {
  return tx.select({ id: signInCodes.id }).from(signInCodes)
    .where(and(eq(signInCodes.addressHash, addressHash), gt(signInCodes.createdAt, since))).all().length;
}

function failuresOf(tx: Transaction, addressHash: string): number {
  return tx.select({ failures: signInFailures.failures }).from(signInFailures).where(eq(signInFailures.addressHash, addressHash)).get()?.failures ?? 0;
}

function forgetFailures(tx: Transaction, addressHash: string): void {
  tx.delete(signInFailures).where(eq(signInFailures.addressHash, addressHash)).run();
}

/** Only the last hour's rows still name their network. */
function askedFrom(tx: Transaction, networkHash: string): number {
  return tx.select({ id: signInCodes.id }).from(signInCodes).where(eq(signInCodes.networkHash, networkHash)).all().length;
}

/** Keyed and bound to its row: eight digits alone could be found by trying them all. */
const codeHash = (id: string, code: string): string => keyedHash("code", `${id}:${code}`);

function noteRefused(tx: Transaction, personId: string | null, now: number): void {
  appendAudit(tx, {
    at: now, actorId: personId, role: null, act: "sign-in", objectId: null, familyId: null, outcome: "refused", requestId: null, sessionHash: null,
  });
}
