import "server-only";
import { and, asc, eq, inArray, isNotNull, isNull } from "drizzle-orm";
import { database } from "@/db/client";
import { careLinks, children } from "@/db/schema/care";
import { people } from "@/db/schema/practice";
import { challenges, passkeys, totpSecrets } from "@/db/schema/sign-in";
import { isStaff } from "@/lib/access/actor";
import type { FamilyGrant, PracticeGrant } from "@/lib/access/grant";
import { withdrawInvitations } from "@/lib/access/invitation";
import { endSessionsOf } from "@/lib/access/session-row";
import type { Role } from "@/lib/domain/policy/policy";
import { ok, refuse, type Result } from "@/lib/domain/result";
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

/** Takes a member of staff's access away at once: sessions, half-done sign-ins and open invitations end with it. */
export async function disablePerson(grant: PracticeGrant<"staff.manage">, personId: string, now: number): Promise<Result<null>> {
  if (personId === grant.actor.personId) return refuse("own-access");
  return act(grant, "staff.disabled", now, (tx) => {
    const { changes } = tx.update(people).set({ disabledAt: now })
      .where(and(eq(people.id, personId), eq(people.practiceId, grant.practiceId), inArray(people.role, ["lead", "therapist"]), isNull(people.disabledAt))).run();
    if (changes === 0) return refuse("stale-version");
    endSessionsOf(tx, personId, now);
    withdrawInvitations(tx, personId, now);
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

export type CarerView = {
  readonly personId: string;
  readonly name: string;
  readonly email: string;
  readonly phone: string | null;
  readonly relation: "guardian" | "self";
  readonly childIds: readonly string[];
  readonly childNames: readonly string[];
};

/** Who cares for whom in a family. A carer sees only themself: separated parents do not learn each other's address here. */
export async function guardiansOf(grant: FamilyGrant<"family.read">): Promise<readonly CarerView[]> {
  const rows = database().select({
    personId: people.id, name: people.name, email: people.email, phone: people.phone, relation: careLinks.relation,
    childId: careLinks.childId, childName: children.givenName,
  }).from(careLinks)
    .innerJoin(people, eq(people.id, careLinks.personId))
    .innerJoin(children, and(eq(children.id, careLinks.childId), eq(children.familyId, careLinks.familyId)))
    .where(and(
      eq(careLinks.familyId, grant.familyId), isNull(careLinks.endedAt), isNull(people.disabledAt),
      isStaff(grant.actor.role) ? undefined : eq(people.id, grant.actor.personId),
    )).orderBy(asc(people.name), asc(children.givenName)).all();
  return [...new Set(rows.map(({ personId }) => personId))].flatMap((personId) => {
    const own = rows.filter((row) => row.personId === personId);
    const [first] = own;
    if (!first) return [];
    const { name, email, phone, relation } = first;
    return [{ personId, name, email, phone, relation, childIds: own.map((row) => row.childId), childNames: own.map((row) => row.childName) }];
  });
}

/** Ends one person's reach to one child at once; what they sent and decided stays. */
export async function endCare(
  grant: FamilyGrant<"family.invite">,
  input: { readonly personId: string; readonly careOf: string },
  now: number,
): Promise<Result<null>> {
  return act(grant, "care.ended", now, (tx) => {
    const { changes } = tx.update(careLinks).set({ endedAt: now })
      .where(and(eq(careLinks.personId, input.personId), eq(careLinks.childId, input.careOf), eq(careLinks.familyId, grant.familyId), isNull(careLinks.endedAt))).run();
    return changes === 0 ? refuse("stale-version") : ok({ objectId: input.personId, value: null });
  });
}
