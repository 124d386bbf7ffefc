import "server-only";
import { and, asc, eq, inArray, isNotNull, isNull } from "drizzle-orm";
import { database } from "@/db/client";
import { people } from "@/db/schema/practice";
import { challenges, passkeys, totpSecrets } from "@/db/schema/sign-in";
import type { PracticeGrant } from "@/lib/access/grant";
import { clearSecondFactor } from "@/lib/access/clear-factor";
import { withdrawInvitations } from "@/lib/access/invitation";
import { endSessionsOf } from "@/lib/access/session-row";
import type { Role } from "@/lib/domain/policy/policy";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { addNotice } from "@/lib/notices/add";
import { forgetPhonesOf } from "@/lib/notices/phones";
import { act } from "@/lib/records/act";

export type StaffMember = {
  readonly personId: string;
  readonly name: string;
  readonly email: string;
  readonly role: Role;
  readonly isDisabled: boolean;
  /** Whether they have set up a second factor, and so can sign in at all. */
  readonly isSetUp: boolean;
};

export async function listStaff(grant: PracticeGrant<"staff.manage">): Promise<readonly StaffMember[]> {
  const db = database();
  const rows = db.select({ personId: people.id, name: people.name, email: people.email, role: people.role, disabledAt: people.disabledAt })
    .from(people).where(and(eq(people.practiceId, grant.practiceId), inArray(people.role, ["lead", "therapist"]))).orderBy(asc(people.name)).all();
  const setUp = new Set([
    ...db.select({ id: passkeys.personId }).from(passkeys).all(),
    ...db.select({ id: totpSecrets.personId }).from(totpSecrets).where(isNotNull(totpSecrets.confirmedAt)).all(),
  ].map(({ id }) => id));
  return rows.map(({ disabledAt, ...row }) => ({ ...row, isDisabled: disabledAt !== null, isSetUp: setUp.has(row.personId) }));
}

/** Takes a member of staff's access away at once: sessions, half-done sign-ins, open invitations and pushes end with it. */
export async function disablePerson(grant: PracticeGrant<"staff.manage">, personId: string, now: number): Promise<Result<null>> {
  if (personId === grant.actor.personId) return refuse("own-access");
  return act(grant, "staff.disabled", now, (tx) => {
    const { changes } = tx.update(people).set({ disabledAt: now })
      .where(and(eq(people.id, personId), eq(people.practiceId, grant.practiceId), inArray(people.role, ["lead", "therapist"]), isNull(people.disabledAt))).run();
    if (changes === 0) return refuse("stale-version");
    endSessionsOf(tx, personId, now);
    withdrawInvitations(tx, personId, now);
    forgetPhonesOf(tx, personId);
    tx.update(challenges).set({ usedAt: now }).where(and(eq(challenges.personId, personId), isNull(challenges.usedAt))).run();
    return ok({ objectId: personId, value: null });
  });
}

/** Gives a disabled member of staff their access back; they sign in anew with the second factor they had. */
export async function enablePerson(grant: PracticeGrant<"staff.manage">, personId: string, now: number): Promise<Result<null>> {
  return act(grant, "staff.enabled", now, (tx) => {
    const { changes } = tx.update(people).set({ disabledAt: null })
      .where(and(eq(people.id, personId), eq(people.practiceId, grant.practiceId), inArray(people.role, ["lead", "therapist"]), isNotNull(people.disabledAt))).run();
    return changes === 0 ? refuse("stale-version") : ok({ objectId: personId, value: null });
  });
}

/**
 * For a colleague who lost their device: takes away what they signed in with, ends their sessions, tells
 * them, and invites them to set up a new second step. Never one's own: that is what recovery codes are for.
 */
export async function resetSecondFactor(grant: PracticeGrant<"staff.manage">, personId: string, now: number): Promise<Result<null>> {
  if (personId === grant.actor.personId) return refuse("own-reset");
  return act(grant, "second-factor.reset", now, (tx) => {
    const person = tx.select({ id: people.id }).from(people)
      .where(and(eq(people.id, personId), eq(people.practiceId, grant.practiceId), inArray(people.role, ["lead", "therapist"]), isNull(people.disabledAt))).get();
    if (!person) return refuse("stale-version");
    const { id, key } = clearSecondFactor(tx, personId, grant.actor.personId, now);
    addNotice(tx, { kind: "invitation", personId, dedupeKey: `invitation:${id}`, values: { key }, now });
    return ok({ objectId: personId, value: null });
  });
}
