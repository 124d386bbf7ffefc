import "server-only";
import { and, eq, inArray, isNull } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { careLinks } from "@/db/schema/care";
import { people } from "@/db/schema/practice";
import { isStaff } from "@/lib/access/actor";
import { openLinks, type OpenLink } from "@/lib/access/care-reach";
import type { ChildGrant, FamilyGrant } from "@/lib/access/grant";
import { leavesNobody, type Agreement, type Reach } from "@/lib/domain/policy/care";
import { ok, refuse, type Result } from "@/lib/domain/result";
import type { Locale } from "@/lib/domain/words/reader";
import { act } from "@/lib/records/act";
import { cutOff } from "@/lib/records/cut-off";

export type CareOf = {
  readonly childId: string;
  readonly childName: string;
  readonly reach: Reach;
  readonly agreement: Agreement | null;
  readonly isAdult: boolean;
  /** Ending this one leaves nobody who decides for the child, or nobody at all. */
  readonly isLast: boolean;
};

export type CarerView = {
  readonly personId: string;
  readonly name: string;
  readonly email: string;
  readonly phone: string | null;
  readonly relation: "guardian" | "self";
  /** What they chose to read; null while they have not. */
  readonly language: Locale | null;
  readonly cares: readonly CareOf[];
};

/** Who cares for whom in a family. A carer sees only themself: separated parents do not learn each other's address here. */
export async function carersIn(grant: FamilyGrant<"family.read">, now: number): Promise<readonly CarerView[]> {
  const links = openLinks(database(), eq(careLinks.familyId, grant.familyId), now);
  const known = database().select({ personId: people.id, name: people.name, email: people.email, phone: people.phone, language: people.language }).from(people)
    .where(and(inArray(people.id, links.map(({ personId }) => personId)), eq(people.practiceId, grant.practiceId), isNull(people.disabledAt), isStaff(grant.actor.role) ? undefined : eq(people.id, grant.actor.personId)))
    .orderBy(people.name).all();
  return known.flatMap((person) => {
    const own = links.filter((link) => link.personId === person.personId);
    const [first] = own;
    return first ? [{ ...person, relation: first.relation, cares: own.map((link) => careOf(link, links)) }] : [];
  });
}

function careOf({ personId, childId, givenName, reach, agreement, isAdult }: OpenLink, links: readonly OpenLink[]): CareOf {
  const others = links.filter((link) => link.childId === childId && link.personId !== personId).map((link) => link.reach);
  return { childId, childName: givenName, reach, agreement, isAdult, isLast: leavesNobody(reach, others) };
}

export type FellowCarer = { readonly personId: string; readonly name: string; readonly agreement: Agreement | null };

/** To the one whose body it is: who else sees it, by name alone. Guardians are not shown each other. */
export async function fellowCarers(grant: ChildGrant<"read-back.answer">, now: number): Promise<readonly FellowCarer[]> {
  const links = linksTo(database(), grant, now);
  if (!links.some((link) => link.personId === grant.actor.personId && link.relation === "self")) return [];
  return links.filter((link) => link.personId !== grant.actor.personId).flatMap(({ personId, agreement }) =>
    database().select({ personId: people.id, name: people.name }).from(people)
      .where(and(eq(people.id, personId), eq(people.practiceId, grant.practiceId))).all().map((person) => ({ ...person, agreement })));
}

const linksTo = (db: Parameters<typeof openLinks>[0], { childId, familyId }: { readonly childId: string; readonly familyId: string }, now: number) =>
  openLinks(db, and(eq(careLinks.childId, childId), eq(careLinks.familyId, familyId)), now);

/**
 * Ends one person's reach to one child at once, with all that runs on it; what they sent and decided stays.
 * Refused with `last-carer` when nobody would be left who decides for the child, unless that is meant.
 */
export async function endCare(
  grant: FamilyGrant<"family.invite">,
  input: { readonly personId: string; readonly careOf: string; readonly isLastMeant: boolean },
  now: number,
): Promise<Result<null>> {
  return act(grant, "care.ended", now, (tx) => {
    const ref = { childId: input.careOf, familyId: grant.familyId };
    const links = linksTo(tx, ref, now);
    const link = links.find(({ personId }) => personId === input.personId);
    if (!link) return refuse("stale-version");
    if (careOf(link, links).isLast && !input.isLastMeant) return refuse("last-carer");
    endLink(tx, link, now);
    return ok({ objectId: input.personId, value: null });
  });
}

function endLink(tx: Transaction, { personId, childId, familyId }: OpenLink, now: number): void {
  tx.update(careLinks).set({ endedAt: now })
    .where(and(eq(careLinks.personId, personId), eq(careLinks.childId, childId), eq(careLinks.familyId, familyId), isNull(careLinks.endedAt))).run();
  cutOff(tx, { personId, childId, familyId }, now);
}
