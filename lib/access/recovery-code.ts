import "server-only";
import { randomBytes, randomUUID } from "node:crypto";
import { and, eq, isNull } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { recoveryCodes } from "@/db/schema/sign-in";
import { keyedHash } from "@/lib/access/sealed";

/** How many a set holds. Ours. */
export const CODES_IN_SET = 10;
/**
 * 24 characters of 5 bits are 120 bits. NIST SP 800-63B-4, 3.1.2 (look-up secrets; from memory): each is used
 * once, from 112 bits of entropy on an approved one-way function is enough at rest, and from 64 bits on guesses
 * need no limit.
 */
const LENGTH = 24;
/** Digits and letters without I, L, O and U, which are mistaken for others or spell words (Crockford's Base32). */
const ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/** A new set for a person, in groups of four as they are shown; every code from before is worthless. */
export function newRecoveryCodes(tx: Transaction, personId: string, now: number): readonly string[] {
  dropRecoveryCodes(tx, personId);
  return Array.from({ length: CODES_IN_SET }, () => {
    const code = [...randomBytes(LENGTH)].map((byte) => ALPHABET[byte % ALPHABET.length]).join("");
    tx.insert(recoveryCodes).values({ id: randomUUID(), personId, codeHash: codeHash(code), createdAt: now }).run();
    return code.replace(/(.{4})(?=.)/g, "$1-");
  });
}

/** Whether this is one of the person's unused codes; it is used from then on. Read as it is meant: case, spaces, hyphens, O for 0 and I or L for 1. */
export function spendRecoveryCode(tx: Transaction, personId: string, typed: string, now: number): boolean {
  const code = typed.toUpperCase().replace(/[^0-9A-Z]/g, "").replaceAll("O", "0").replace(/[IL]/g, "1");
  if (code.length !== LENGTH) return false;
  return tx.update(recoveryCodes).set({ usedAt: now })
    .where(and(eq(recoveryCodes.personId, personId), eq(recoveryCodes.codeHash, codeHash(code)), isNull(recoveryCodes.usedAt))).run().changes === 1;
}

export function dropRecoveryCodes(tx: Transaction, personId: string): void {
  tx.delete(recoveryCodes).where(eq(recoveryCodes.personId, personId)).run();
}

/** How many are unused, and when the set was made (UTC ms); null for who has none. */
export function recoveryCodesLeft(personId: string): { readonly left: number; readonly madeAt: number } | null {
  const rows = database().select({ usedAt: recoveryCodes.usedAt, createdAt: recoveryCodes.createdAt }).from(recoveryCodes).where(eq(recoveryCodes.personId, personId)).all();
  return rows[0] ? { left: rows.filter(({ usedAt }) => usedAt === null).length, madeAt: rows[0].createdAt } : null;
}

const codeHash = (code: string): string => keyedHash("recovery-code", code);
