import "server-only";
import { and, asc, eq, gt, inArray, isNull } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { careLinks, children } from "@/db/schema/care";
import { people, practices } from "@/db/schema/practice";
import { invitations } from "@/db/schema/sign-in";
import { isStaff } from "@/lib/access/actor";
import { normalisedAddress } from "@/lib/access/address";
import { linksOf, openLinks } from "@/lib/access/care-reach";
import type { FamilyGrant, PracticeGrant } from "@/lib/access/grant";
import { invitationAddress, invitationKey, openInvitation } from "@/lib/access/invitation";
import { isOfAge, reachedOn } from "@/lib/domain/policy/care";
import type { Role } from "@/lib/domain/policy/policy";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { formatLocalDate } from "@/lib/domain/time/format";
import { localDate } from "@/lib/domain/time/local";
import { addNotice } from "@/lib/notices/add";
import { act } from "@/lib/records/act";

const CARER_ROLES = ["guardian", "young-person"] as const;

export type Relation = "guardian" | "self";
export type InvitedGuardian = {
  readonly name: string;
  readonly email: string;
  readonly phone: string;
  readonly childIds: readonly string[];
  readonly relation: Relation;
  /** Whoever has this address already is the one meant. */
  readonly isKnownMeant: boolean;
};

/**
 * Invites a parent or young person to the children named and to no others: person, care links,
 * invitation and its mail in one act. Somebody already known by that address, as a carer of this
 * practice, gets the links and a new invitation; who is of another family or goes by another name only
 * when that is meant (`address-known`), for a slip in an address would show a child to strangers. Refused
 * too: `too-young`, and `self-already` for a second sign-in of one child or a second child of one.
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
    const own = tx.select({ id: children.id, givenName: children.givenName, bornIn: children.bornIn }).from(children)
      .where(and(eq(children.familyId, grant.familyId), inArray(children.id, childIds))).all();
    if (own.length !== childIds.length) return refuse("child-not-chosen", { field: "childIds" });
    const young = input.relation === "self" ? tooYoung(tx, grant.practiceId, own, now) : null;
    if (young) return refuse("too-young", { field: "relation", values: young });
    const role = input.relation === "self" ? "young-person" : "guardian";
    if (!input.isKnownMeant && isSomebodyElse(tx, grant.familyId, email, input.name, now)) return refuse("address-known", { field: "email" });
    const personId = personFor(tx, { practiceId: grant.practiceId, role, email, name: input.name, phone: input.phone || null }, now);
    if (personId === null) return refuse("address-taken", { field: "email" });
    if (input.relation === "self" && hasOtherSelf(tx, personId, childIds, now)) return refuse("self-already", { field: "childIds" });
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
  const linked = database().selectDistinct({ personId: careLinks.personId }).from(children).innerJoin(careLinks, and(eq(careLinks.childId, children.id), eq(careLinks.familyId, children.familyId)))
    .where(and(eq(children.familyId, grant.familyId), isNull(careLinks.endedAt))).all().map(({ personId }) => personId);
  const rows = database().select({ id: invitations.id, personId: people.id, name: people.name, expiresAt: invitations.expiresAt })
    .from(invitations).innerJoin(people, eq(people.id, invitations.personId))
    .where(and(
      inArray(invitations.personId, linked),
      eq(people.practiceId, grant.practiceId), inArray(people.role, [...CARER_ROLES]), isNull(people.disabledAt),
      isNull(invitations.usedAt), isNull(invitations.revokedAt), gt(invitations.expiresAt, now),
    )).orderBy(asc(people.name)).all();
  return rows.map(({ id, ...row }) => ({ ...row, address: invitationAddress(invitationKey(id)) }));
}

/** The first child here who is below the practice's age for a sign-in of their own; null when none is. */
function tooYoung(tx: Transaction, practiceId: string, some: readonly { readonly givenName: string; readonly bornIn: string }[], now: number) {
  const practice = tx.select({ age: practices.ownSignInAge, zone: practices.timeZone }).from(practices).where(eq(practices.id, practiceId)).get();
  if (!practice) throw new Error("the practice is missing");
  const young = some.find(({ bornIn }) => !isOfAge(bornIn, practice.age, localDate(now, practice.zone)));
  return young ? { child: young.givenName, age: practice.age, from: formatLocalDate(reachedOn(young.bornIn, practice.age)) } : null;
}

/** Somebody with this address is here and neither of this family nor of this name. */
function isSomebodyElse(tx: Transaction, familyId: string, email: string, name: string, now: number): boolean {
  const known = tx.select({ id: people.id, name: people.name }).from(people).where(and(eq(people.email, email), inArray(people.role, [...CARER_ROLES]))).get();
  if (!known) return false;
  const plain = (text: string): string => text.normalize("NFKC").trim().toLowerCase();
  return plain(known.name) !== plain(name) || linksOf(known.id, now).every((link) => link.familyId !== familyId);
}

/** This child has another such person, or this person another child. */
const hasOtherSelf = (tx: Transaction, personId: string, childIds: readonly string[], now: number): boolean =>
  openLinks(tx, eq(careLinks.relation, "self"), now).some((link) => (link.personId === personId) !== childIds.includes(link.childId));

type NewPerson = { readonly practiceId: string; readonly role: Role; readonly email: string; readonly name: string; readonly phone: string | null };

/**
 * The person of this address, made when new; null when the address belongs to somebody in another role or
 * place. A carer whose last link had ended comes back; staff are given access again by the lead alone.
 */
function personFor(tx: Transaction, person: NewPerson, now: number): string | null {
  const known = tx.select({ id: people.id, role: people.role, practiceId: people.practiceId, disabledAt: people.disabledAt })
    .from(people).where(eq(people.email, person.email)).get();
  if (known) {
    const isSame = known.role === person.role && known.practiceId === person.practiceId;
    if (!isSame || (known.disabledAt !== null && isStaff(known.role))) return null;
    tx.update(people).set({ disabledAt: null }).where(eq(people.id, known.id)).run();
    return known.id;
  }
  const id = crypto.randomUUID();
  tx.insert(people).values({ id, ...person, createdAt: now }).run();
  return id;
}

function invite(tx: Transaction, personId: string, createdBy: string, now: number): void {
  const { id, key } = openInvitation(tx, personId, createdBy, now);
  addNotice(tx, { kind: "invitation", personId, dedupeKey: `invitation:${id}`, values: { key }, now });
}
