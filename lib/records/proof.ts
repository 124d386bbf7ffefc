import "server-only";
import { eq } from "drizzle-orm";
import type { AuthenticationResponseJSON } from "@simplewebauthn/server";
import { database, type Transaction } from "@/db/client";
import { sessions } from "@/db/schema/sign-in";
import { demoPerson } from "@/lib/access/demo";
import { showFactor, type Factor } from "@/lib/access/factor";
import type { SelfGrant } from "@/lib/access/grant";
import { checkPasskey, spendPasskey } from "@/lib/access/passkey";
import { spendRecoveryCode } from "@/lib/access/recovery-code";
import { spendTotp } from "@/lib/access/totp";
import { ok, refuse, type Result } from "@/lib/domain/result";

/** The second step shown again by somebody who is signed in; it counts for this session alone, from now on. */
export async function proveAgain(
  grant: SelfGrant<"sign-in.prove">,
  { factor, code }: { readonly factor: "totp" | "recovery-code"; readonly code: string },
  now: number,
): Promise<Result<null>> {
  const spend = factor === "totp" ? spendTotp : spendRecoveryCode;
  return prove(grant, factor, now, (tx) => spend(tx, grant.actor.personId, code, now));
}

export async function proveAgainByPasskey(grant: SelfGrant<"sign-in.prove">, response: AuthenticationResponseJSON | null, now: number): Promise<Result<null>> {
  const shown = response ? await checkPasskey(response, now) : null;
  return prove(grant, "passkey", now, (tx) => shown !== null && shown.personId === grant.actor.personId && spendPasskey(tx, shown, now));
}

/** Only the demo's invented people, who have no second step, and whom a press signs in as well. */
export async function proveAgainInDemo(grant: SelfGrant<"sign-in.prove">, now: number): Promise<Result<null>> {
  if (!demoPerson(grant.actor.personId)) return refuse("form-invalid");
  database().transaction((tx) => noteProof(tx, grant.actor.sessionId, now), { behavior: "immediate" });
  return ok(null);
}

function prove(grant: SelfGrant<"sign-in.prove">, factor: Factor, now: number, isShown: (tx: Transaction) => boolean): Result<null> {
  return database().transaction((tx) => {
    const shown = showFactor(tx, grant.actor.personId, factor, now, () => isShown(tx));
    if (shown.ok) noteProof(tx, grant.actor.sessionId, now);
    return shown;
  }, { behavior: "immediate" });
}

/** A session is known by the hash of its token. */
function noteProof(tx: Transaction, sessionHash: string, now: number): void {
  tx.update(sessions).set({ provedAt: now }).where(eq(sessions.tokenHash, sessionHash)).run();
}
