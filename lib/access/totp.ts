import "server-only";
import { and, eq, isNotNull, isNull, lt, or } from "drizzle-orm";
import { Secret, TOTP } from "otpauth";
import type { Transaction } from "@/db/client";
import { totpSecrets } from "@/db/schema/sign-in";
import { seal, unseal } from "@/lib/access/sealed";

/** RFC 6238, section 4: thirty seconds a step. */
const STEP_MS = 30_000;
/** RFC 6238, section 5.2: at most one step either way for a clock that is off. */
const WINDOW = 1;

/** 160 random bits as RFC 4226, section 4 (R6) recommends, in Base32 as authenticator apps read it. */
export const newTotpSecret = (): string => new Secret({ size: 20 }).base32;

export function totpUri(secret: string, label: string): string {
  return totp(secret, label).toString();
}

/** The step a typed code belongs to at this time, or null when it belongs to none within the window. */
export function totpStep(secret: string, typed: string, now: number): number | null {
  const token = typed.replace(/\D/g, "");
  if (token.length !== 6) return null;
  const delta = totp(secret, "").validate({ token, timestamp: now, window: WINDOW });
  return delta === null ? null : Math.floor(now / STEP_MS) + delta;
}

/** Keeps a secret whose first code was just shown. False when that code was wrong. */
export function confirmTotp(tx: Transaction, personId: string, secret: string, typed: string, now: number): boolean {
  const step = totpStep(secret, typed, now);
  if (step === null) return false;
  const values = { sealedSecret: seal("totp", secret), createdAt: now, confirmedAt: now, lastStep: step };
  tx.insert(totpSecrets).values({ personId, ...values }).onConflictDoUpdate({ target: totpSecrets.personId, set: values }).run();
  return true;
}

/** Whether this is the person's code now. Each step counts once, and never an older one after it. */
export function spendTotp(tx: Transaction, personId: string, typed: string, now: number): boolean {
  const row = tx.select({ sealed: totpSecrets.sealedSecret }).from(totpSecrets)
    .where(and(eq(totpSecrets.personId, personId), isNotNull(totpSecrets.confirmedAt))).get();
  const secret = row ? unseal("totp", row.sealed) : null;
  const step = secret === null ? null : totpStep(secret, typed, now);
  if (step === null) return false;
  return tx.update(totpSecrets).set({ lastStep: step })
    .where(and(eq(totpSecrets.personId, personId), or(isNull(totpSecrets.lastStep), lt(totpSecrets.lastStep, step)))).run().changes === 1;
}

export function hasTotp(tx: Transaction, personId: string): boolean {
  return tx.select({ personId: totpSecrets.personId }).from(totpSecrets)
    .where(and(eq(totpSecrets.personId, personId), isNotNull(totpSecrets.confirmedAt))).get() !== undefined;
}

const totp = (secret: string, label: string): TOTP =>
  new TOTP({ issuer: "Trueside", label: label || "Trueside", algorithm: "SHA1", digits: 6, period: STEP_MS / 1000, secret: Secret.fromBase32(secret) });
