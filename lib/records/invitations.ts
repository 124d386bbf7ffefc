import "server-only";
import { and, asc, eq, gt, inArray, isNull } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { careLinks, children } from "@/db/schema/care";
import { people } from "@/db/schema/practice";
import { invitations } from "@/db/schema/sign-in";
import { normalisedAddress } from "@/lib/access/address";
import type { FamilyGrant, PracticeGrant } from "@/lib/access/grant";
import { invitationAddress, invitationKey, openInvitation } from "@/lib/access/invitation";
import type { Role } from "@/lib/domain/policy/policy";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { addNotice } from "@/lib/notices/add";
import { act } from "@/lib/records/act";

export type Relation = "guardian" | "self";
export type InvitedGuardian = {
  readonly name: string;
  readonly email: string;
  readonly phone: string;
  readonly childIds: readonly string[];
  readonly relation: Relation;
};

/**
 * Invites a parent or young person to the children named and to no others: person, care links,
 * invitation and its mail in one act. Somebody already known by that address, as a carer of this
 * practice, gets the links and a new invitation.
 */
export async function inviteGuardian(
  grant: FamilyGrant<"family.invite">,
  input: InvitedGuardian,
  now: number,
): Promise<Result<{ readonly personId: string }>> {
  const email = normalisedAddress(input.email);
  if (email === null) return refuse("address-invalid", { field: "email" });
  const childIds = [...new Set(input.childIds)];
  if (childIds.length === 0) return refuse("child-not-chosen", { field: "childIds" });
  // A young person acts for nobody but themself.
  if (input.relation === "self" && childIds.length > 1) return refuse("form-invalid", { field: "childIds" });
  return act(grant, "guardian.invited", now, (tx) => {
    const own = tx.select({ id: children.id }).from(children)
      .where(and(eq(children.familyId, grant.familyId), inArray(children.id, childIds))).all();
    if (own.length !== childIds.length) return refuse("child-not-chosen", { field: "childIds" });
    const role = input.relation === "self" ? "young-person" : "guardian";
    const personId = personFor(tx, { practiceId: grant.practiceId, role, email, name: input.name, phone: input.phone || null }, now);
    if (personId === null) return refuse("address-taken", { field: "email" });
    for (const childId of childIds) {
      tx.insert(careLinks).values({ id: crypto.randomUUID(), personId, childId, familyId: grant.familyId, relation: input.relation, createdAt: now })
        .onConflictDoNothing().run();
    }
    invite(tx, personId, grant.actor.personId, now);
    return ok({ objectId: personId, value: { personId } });
  });
}

/** Invites a therapist, or invites one again who has not come yet. */
export async function inviteStaff(
  grant: PracticeGrant<"staff.manage">,
  input: { readonly name: string; readonly email: string },
  now: number,
): Promise<Result<{ readonly personId: string }>> {
  const email = normalisedAddress(input.email);
  if (email === null) return refuse("address-invalid", { field: "email" });
  return act(grant, "staff.invited", now, (tx) => {
    const personId = personFor(tx, { practiceId: grant.practiceId, role: "therapist", email, name: input.name, phone: null }, now);
    if (personId === null) return refuse("address-taken", { field: "email" });
    invite(tx, personId, grant.actor.personId, now);
    return ok({ objectId: personId, value: { personId } });
  });
}

export type OpenInvitation = { readonly personId: string; readonly name: string; readonly address: string; readonly expiresAt: number };

/** Invitations of this family's carers that wait, with the address to hand over in person. */
export async function invitationsOf(grant: FamilyGrant<"family.invite">, now: number): Promise<readonly OpenInvitation[]> {
  const rows = database().selectDistinct({ id: invitations.id, personId: people.id, name: people.name, expiresAt: invitations.expiresAt })
    .from(invitations).innerJoin(people, eq(people.id, invitations.personId))
    .innerJoin(careLinks, and(eq(careLinks.personId, people.id), eq(careLinks.familyId, grant.familyId), isNull(careLinks.endedAt)))
    .where(and(
      eq(people.practiceId, grant.practiceId), inArray(people.role, ["guardian", "young-person"]), isNull(people.disabledAt),
      isNull(invitations.usedAt), isNull(invitations.revokedAt), gt(invitations.expiresAt, now),
    )).orderBy(asc(people.name)).all();
  return rows.map(({ id, ...row }) => ({ ...row, address: invitationAddress(invitationKey(id)) }));
}

type NewPerson = { readonly practiceId: string; readonly role: Role; readonly email: string; readonly name: string; readonly phone: string | null };

/** The person of this address, made when new; null when the address belongs to somebody in another role or place. */
function personFor(tx: Transaction, person: NewPerson, now: number): string | null {
  const known = tx.select({ id: people.id, role: people.role, practiceId: people.practiceId, disabledAt: people.disabledAt })
    .from(people).where(eq(people.email, person.email)).get();
  if (known) return known.role === person.role && known.practiceId === person.practiceId && known.disabledAt === null ? known.id : null;
  const id = crypto.randomUUID();
  tx.insert(people).values({ id, ...person, createdAt: now }).run();
  return id;
}

function invite(tx: Transaction, personId: string, createdBy: string, now: number): void {
  const { id, key } = openInvitation(tx, personId, createdBy, now);
  addNotice(tx, { kind: "invitation", personId, dedupeKey: `invitation:${id}`, values: { key }, now });
}
