import "server-only";
import { and, asc, eq } from "drizzle-orm";
import type { RegistrationResponseJSON } from "@simplewebauthn/server";
import { z } from "zod";
import { database, type Transaction } from "@/db/client";
import { people } from "@/db/schema/practice";
import { passkeys } from "@/db/schema/sign-in";
import type { SelfGrant } from "@/lib/access/grant";
import { checkNewPasskey, hasPasskey, keepPasskey } from "@/lib/access/passkey";
import { newRecoveryCodes, recoveryCodesLeft } from "@/lib/access/recovery-code";
import { seal, unseal } from "@/lib/access/sealed";
import { confirmTotp, hasTotp, newTotpSecret } from "@/lib/access/totp";
import { forgetTotpFailures } from "@/lib/access/totp-failures";
import { PROOF_LIFE_MS } from "@/lib/domain/policy/policy";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { addNotice } from "@/lib/notices/add";
import { act } from "@/lib/records/act";

/** Instants UTC ms. */
export type OwnPasskey = { readonly passkeyId: string; readonly createdAt: number; readonly lastUsedAt: number | null };
export type OwnSignIn = {
  readonly email: string;
  readonly passkeys: readonly OwnPasskey[];
  readonly hasTotp: boolean;
  readonly recovery: { readonly left: number; readonly madeAt: number } | null;
};

/** With what a member of staff signs in. */
export async function ownSignIn(grant: SelfGrant<"sign-in.read">): Promise<OwnSignIn> {
  const { personId } = grant.actor;
  const own = database().select({ passkeyId: passkeys.id, createdAt: passkeys.createdAt, lastUsedAt: passkeys.lastUsedAt })
    .from(passkeys).where(eq(passkeys.personId, personId)).orderBy(asc(passkeys.createdAt)).all();
  const person = database().select({ email: people.email }).from(people).where(eq(people.id, personId)).get();
  if (!person) throw new Error("the person is missing");
  return { ...person, passkeys: own, hasTotp: database().transaction((tx) => hasTotp(tx, personId)), recovery: recoveryCodesLeft(personId) };
}

/** A new set instead of the one before. Null when this very act was done already: its codes are nowhere but where they were shown. */
export async function renewRecoveryCodes(grant: SelfGrant<"sign-in.change">, now: number): Promise<Result<readonly string[] | null>> {
  const { personId } = grant.actor;
  // Beside the act's own answer, which is kept: codes never are.
  let codes: readonly string[] | null = null;
  const renewed = act(grant, "recovery-codes.made", now, (tx) => {
    codes = newRecoveryCodes(tx, personId, now);
    tellChanged(tx, personId, now);
    return ok({ objectId: personId, value: null });
  });
  return renewed.ok ? ok(codes) : renewed;
}

/** Refused with `second-factor-wrong` when the passkey does not hold. */
export async function addPasskey(grant: SelfGrant<"sign-in.change">, response: RegistrationResponseJSON | null, now: number): Promise<Result<null>> {
  const { personId } = grant.actor;
  const made = response ? await checkNewPasskey(response, now) : null;
  if (!made) return refuse("second-factor-wrong");
  return act(grant, "passkey.added", now, (tx) => {
    if (!keepPasskey(tx, personId, made, now)) return refuse("second-factor-wrong");
    tellChanged(tx, personId, now);
    return ok({ objectId: personId, value: null });
  });
}

/** Never the last second factor: recovery codes alone are none. */
export async function removePasskey(grant: SelfGrant<"sign-in.change">, passkeyId: string, now: number): Promise<Result<null>> {
  const { personId } = grant.actor;
  return act(grant, "passkey.removed", now, (tx) => {
    const { changes } = tx.delete(passkeys).where(and(eq(passkeys.id, passkeyId), eq(passkeys.personId, personId))).run();
    if (changes === 0) return refuse("stale-version");
    if (!hasPasskey(personId) && !hasTotp(tx, personId)) return refuse("last-factor");
    tellChanged(tx, personId, now);
    return ok({ objectId: passkeyId, value: null });
  });
}

const NewApp = z.object({ secret: z.string(), sessionId: z.string(), madeAt: z.number() });

/** A secret for another authenticator app. It is kept nowhere but on the page, sealed, for this session and ten minutes, until its first code is shown. */
export async function newApp(grant: SelfGrant<"sign-in.read">, now: number): Promise<{ readonly secret: string; readonly sealed: string }> {
  const secret = newTotpSecret();
  return { secret, sealed: seal("new-app", JSON.stringify({ secret, sessionId: grant.actor.sessionId, madeAt: now })) };
}

/** The app before shows no code that counts any more. Refused: `app-code-wrong`, `app-over` when the page is too old or another's. */
export async function moveApp(grant: SelfGrant<"sign-in.change">, { sealed, code }: { readonly sealed: string; readonly code: string }, now: number): Promise<Result<null>> {
  const { personId, sessionId } = grant.actor;
  const opened = unseal("new-app", sealed);
  const app = opened === null ? null : NewApp.parse(JSON.parse(opened));
  if (app?.sessionId !== sessionId || now - app.madeAt > PROOF_LIFE_MS) return refuse("app-over");
  return act(grant, "second-factor.moved", now, (tx) => {
    if (!confirmTotp(tx, personId, app.secret, code, now)) return refuse("app-code-wrong", { field: "code" });
    forgetTotpFailures(tx, personId);
    tellChanged(tx, personId, now);
    return ok({ objectId: personId, value: null });
  });
}

function tellChanged(tx: Transaction, personId: string, now: number): void {
  addNotice(tx, { kind: "sign-in-changed", personId, dedupeKey: `sign-in-changed:${crypto.randomUUID()}`, now });
}
