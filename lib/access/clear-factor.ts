import "server-only";
import { and, eq, isNull } from "drizzle-orm";
import type { Transaction } from "@/db/client";
import { challenges, passkeys, totpSecrets } from "@/db/schema/sign-in";
import { openInvitation } from "@/lib/access/invitation";
import { dropRecoveryCodes } from "@/lib/access/recovery-code";
import { endSessionsOf } from "@/lib/access/session-row";
import { forgetTotpFailures } from "@/lib/access/totp-failures";
import { addNotice } from "@/lib/notices/add";
import { forgetPhonesOf } from "@/lib/notices/phones";

/**
 * Takes every second factor of a member of staff away, with their recovery codes, sessions, pushes and half-done
 * sign-ins, tells them, and opens the invitation behind which they set up a new one: its id and key.
 */
export function clearSecondFactor(tx: Transaction, personId: string, by: string | null, now: number): { readonly id: string; readonly key: string } {
  tx.delete(passkeys).where(eq(passkeys.personId, personId)).run();
  tx.delete(totpSecrets).where(eq(totpSecrets.personId, personId)).run();
  dropRecoveryCodes(tx, personId);
  forgetTotpFailures(tx, personId);
  endSessionsOf(tx, personId, now);
  forgetPhonesOf(tx, personId);
  tx.update(challenges).set({ usedAt: now }).where(and(eq(challenges.personId, personId), isNull(challenges.usedAt))).run();
  const invitation = openInvitation(tx, personId, by, now);
  addNotice(tx, { kind: "second-factor-reset", personId, dedupeKey: `second-factor-reset:${invitation.id}`, now });
  return invitation;
}
