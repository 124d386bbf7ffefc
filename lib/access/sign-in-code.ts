import "server-only";
import { and, eq, gt, isNull, lte } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { people } from "@/db/schema/practice";
import { signInCodes } from "@/db/schema/sign-in";
import { forgetFailures, noteRefused, spendCode, writeCode, type CodeFor } from "@/lib/access/mailed-code";
import { proofOf } from "@/lib/access/mailed-proof";
import { keyedHash, tokenHash } from "@/lib/access/sealed";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { addNotice } from "@/lib/notices/add";

/** So many mails from one network, whoever they are for. The figures are ours. */
const NETWORK_LIMIT = 20;
const NETWORK_SPAN_MS = 60 * 60_000;

/**
 * After too many wrong codes only the link signs in, which nobody can guess; so nobody can lock a family
 * out either.
 */
const signInOf = (address: string): CodeFor => ({ whose: keyedHash("address", address), bound: "", act: "sign-in" });

/**
 * Makes a code and a link for a normalised address and puts their mail into the outbox, when somebody
 * here has that address. An address nobody has leaves the same row, does the same work, and gets no mail.
 * Refuses `codes-asked-often` by the network alone, which says nothing about the address.
 */
export function askForCode(address: string, network: string, now: number): Result<null> {
  const networkHash = keyedHash("network", network);
  return database().transaction((tx) => {
    tx.update(signInCodes).set({ networkHash: null }).where(lte(signInCodes.createdAt, now - NETWORK_SPAN_MS)).run();
    if (askedFrom(tx, networkHash) >= NETWORK_LIMIT) return refuse("codes-asked-often");
    const person = tx.select({ id: people.id }).from(people).where(and(eq(people.email, address), isNull(people.disabledAt))).get();
    const made = writeCode(tx, signInOf(address), { networkHash, personId: person?.id ?? null }, now);
    if (made && person) addNotice(tx, { kind: "sign-in-code", personId: person.id, dedupeKey: `sign-in-code:${made.id}`, values: { code: made.code, key: made.key }, now });
    return ok(null);
  }, { behavior: "immediate" });
}

/** The person whose newest code this is. */
export function redeemCode(address: string, typed: string, now: number): Result<{ readonly personId: string }> {
  return database().transaction((tx) => {
    const spent = spendCode(tx, signInOf(address), typed, now);
    if (spent.ok) openProofAgain(tx, spent.value.personId);
    return spent;
  }, { behavior: "immediate" });
}

/**
 * The person whose newest mailed link this is. `address` is what this browser asked for: a link asked for
 * elsewhere signs nobody in, or a stranger could sign a parent into the stranger's own account.
 */
export function redeemLink(address: string, key: string, now: number): Result<{ readonly personId: string }> {
  const { whose, act } = signInOf(address);
  return database().transaction((tx) => {
    const spent = tx.update(signInCodes).set({ usedAt: now })
      .where(and(
        eq(signInCodes.linkHash, tokenHash(key)), eq(signInCodes.addressHash, whose),
        isNull(signInCodes.usedAt), isNull(signInCodes.replacedAt), gt(signInCodes.expiresAt, now),
      )).returning({ personId: signInCodes.personId }).get();
    if (spent?.personId) {
      forgetFailures(tx, whose);
      openProofAgain(tx, spent.personId);
      return ok({ personId: spent.personId });
    }
    noteRefused(tx, act, null, now);
    return refuse("link-spent");
  }, { behavior: "immediate" });
}

/** Codes that show who it is have no link to fall back on: a new sign-in lets them count again. */
const openProofAgain = (tx: Transaction, personId: string): void => forgetFailures(tx, proofOf(personId, "").whose);

/** Only the last hour's rows still name their network. */
function askedFrom(tx: Transaction, networkHash: string): number {
  return tx.select({ id: signInCodes.id }).from(signInCodes).where(eq(signInCodes.networkHash, networkHash)).all().length;
}
