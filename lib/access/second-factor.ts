import "server-only";
import { randomUUID } from "node:crypto";
import type { AuthenticationResponseJSON, RegistrationResponseJSON } from "@simplewebauthn/server";
import { and, eq, gt, isNull, lt, sql } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { people } from "@/db/schema/practice";
import { challenges } from "@/db/schema/sign-in";
import { noteFactor, showFactor, type Factor } from "@/lib/access/factor";
import { checkNewPasskey, checkPasskey, hasPasskey, keepPasskey, spendPasskey } from "@/lib/access/passkey";
import { newRecoveryCodes, recoveryCodesLeft, spendRecoveryCode } from "@/lib/access/recovery-code";
import { randomToken, seal, tokenHash, unseal } from "@/lib/access/sealed";
import { confirmTotp, hasTotp, newTotpSecret, spendTotp } from "@/lib/access/totp";
import { forgetTotpFailures, isTotpClosed } from "@/lib/access/totp-failures";
import { ok, refuse, type Result } from "@/lib/domain/result";

export const SECOND_STEP_LIFE_MS = 10 * 60_000;
const MAX_TRIES = 5;
const PURPOSE = "second-step";

export type FirstStep = "mail" | "invitation";
/** A member of staff between the two steps, and what the second may be. */
export type SecondStep = {
  readonly personId: string;
  readonly name: string;
  readonly email: string;
  readonly hasPasskey: boolean;
  readonly hasTotp: boolean;
  /** Too many of its codes in a row were wrong: they no longer count. */
  readonly isTotpClosed: boolean;
  /** Unused recovery codes. */
  readonly recoveryLeft: number;
  /** A secret to set up with; only after an invitation, and only while there is no second factor at all. */
  readonly newSecret: string | null;
};

/**
 * Remembers that a member of staff did the first step, for ten minutes and five tries. A second factor can
 * be set up only behind an invitation: else whoever reads a mailbox could set up their own.
 */
export function beginSecondStep(personId: string, first: FirstStep, now: number): string {
  const token = randomToken();
  database().transaction((tx) => {
    tx.delete(challenges).where(lt(challenges.expiresAt, now)).run();
    const isNew = first === "invitation" && !hasPasskey(personId) && !hasTotp(tx, personId);
    tx.insert(challenges).values({
      id: randomUUID(), tokenHash: tokenHash(token), personId, purpose: PURPOSE,
      value: isNew ? seal("second-step", newTotpSecret()) : "", expiresAt: now + SECOND_STEP_LIFE_MS,
    }).run();
  }, { behavior: "immediate" });
  return token;
}

/** What the page of the second step shows; null when there is nothing to continue. */
export function secondStepOf(token: string, now: number): SecondStep | null {
  return database().transaction((tx) => readStep(tx, token, now));
}

/** `codes` are the recovery codes made with a factor that was just set up, to be shown once. */
export type Proved = { readonly personId: string; readonly codes?: readonly string[] };

export function proveByTotp(token: string, typed: string, now: number): Result<Proved> {
  return prove(token, "totp", now, (tx, step) =>
    step.newSecret === null ? spendTotp(tx, step.personId, typed, now) : confirmTotp(tx, step.personId, step.newSecret, typed, now));
}

export function proveByRecoveryCode(token: string, typed: string, now: number): Result<Proved> {
  return prove(token, "recovery-code", now, (tx, step) => step.newSecret === null && spendRecoveryCode(tx, step.personId, typed, now));
}

export async function proveByPasskey(token: string, response: AuthenticationResponseJSON, now: number): Promise<Result<Proved>> {
  const shown = await checkPasskey(response, now);
  return prove(token, "passkey", now, (tx, step) => shown !== null && shown.personId === step.personId && spendPasskey(tx, shown, now));
}

export async function proveByNewPasskey(token: string, response: RegistrationResponseJSON, now: number): Promise<Result<Proved>> {
  const made = await checkNewPasskey(response, now);
  return prove(token, "passkey", now, (tx, step) => made !== null && step.newSecret !== null && keepPasskey(tx, step.personId, made, now));
}

/** A passkey alone is enough: it is the thing held and, through user verification, the person. */
export async function proveByPasskeyAlone(response: AuthenticationResponseJSON, now: number): Promise<Result<Proved>> {
  const shown = await checkPasskey(response, now);
  if (!shown) return refuse("second-factor-wrong");
  return database().transaction((tx) => {
    if (!spendPasskey(tx, shown, now)) return refuse("second-factor-wrong");
    forgetTotpFailures(tx, shown.personId);
    return ok({ personId: shown.personId });
  }, { behavior: "immediate" });
}

/** Each try counts and stays counted; the step ends when it succeeds. With a new factor come new recovery codes. */
function prove(token: string, factor: Factor, now: number, isShown: (tx: Transaction, step: SecondStep) => boolean): Result<Proved> {
  return database().transaction((tx) => {
    const step = readStep(tx, token, now);
    if (!step) return refuse("second-step-over");
    const { personId } = step;
    const here = eq(challenges.tokenHash, tokenHash(token));
    tx.update(challenges).set({ tries: sql`${challenges.tries} + 1` }).where(here).run();
    const isNew = step.newSecret !== null;
    const shown = isNew ? setUp(tx, personId, isShown(tx, step), now) : showFactor(tx, personId, factor, now, () => isShown(tx, step));
    if (!shown.ok) return shown;
    tx.update(challenges).set({ usedAt: now }).where(here).run();
    return ok({ personId, ...(isNew ? { codes: newRecoveryCodes(tx, personId, now) } : {}) });
  }, { behavior: "immediate" });
}

function setUp(tx: Transaction, personId: string, isRight: boolean, now: number): Result<null> {
  noteFactor(tx, personId, "second-factor.set-up", isRight, now);
  return isRight ? ok(null) : refuse("second-factor-wrong", { field: "code" });
}

function readStep(tx: Transaction, token: string, now: number): SecondStep | null {
  const row = tx.select({ personId: people.id, name: people.name, email: people.email, value: challenges.value })
    .from(challenges).innerJoin(people, eq(people.id, challenges.personId))
    .where(and(
      eq(challenges.tokenHash, tokenHash(token)), eq(challenges.purpose, PURPOSE), isNull(challenges.usedAt),
      gt(challenges.expiresAt, now), lt(challenges.tries, MAX_TRIES), isNull(people.disabledAt),
    )).get();
  if (!row) return null;
  const known = { hasPasskey: hasPasskey(row.personId), hasTotp: hasTotp(tx, row.personId), isTotpClosed: isTotpClosed(tx, row.personId) };
  const isNew = row.value !== "" && !known.hasPasskey && !known.hasTotp;
  return { personId: row.personId, name: row.name, email: row.email, ...known, recoveryLeft: recoveryCodesLeft(row.personId)?.left ?? 0, newSecret: isNew ? unseal("second-step", row.value) : null };
}
