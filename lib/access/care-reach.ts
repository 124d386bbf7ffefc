import "server-only";
import { and, asc, eq, isNull, sql, type SQL } from "drizzle-orm";
import type { Database, Transaction } from "@/db/client";
import { among, OF_CHILD, prepared } from "@/db/prepared";
import { careAgreements, careLinks, children, families } from "@/db/schema/care";
import { practices } from "@/db/schema/practice";
import { isStaff, type Actor } from "@/lib/access/actor";
import { careReach, isOfAge, type Agreement, type Reach } from "@/lib/domain/policy/care";
import { localDate } from "@/lib/domain/time/local";

export type OpenLink = {
  readonly personId: string;
  readonly childId: string;
  readonly familyId: string;
  readonly givenName: string;
  readonly bornIn: string;
  readonly relation: "guardian" | "self";
  /** Said of this link; what was said of one that ended does not count for the next. */
  readonly agreement: Agreement | null;
  /** Whether the child decides alone by now. */
  readonly isAdult: boolean;
  /** What it lets the person do today; `none` for who is too young, or needs an adult's agreement. */
  readonly reach: Reach;
};

/** Care links that have not ended, with what each lets its person do now. */
export const openLinks = (db: Database | Transaction, which: SQL | undefined, now: number): readonly OpenLink[] => reachesOn(linkRows(db, which).all(), now);

function linkRows(db: Database | Transaction, which: SQL | undefined) {
  const agreement = sql<Agreement | null>`(select ${careAgreements.decision} from ${careAgreements}
    where ${careAgreements.childId} = ${careLinks.childId} and ${careAgreements.familyId} = ${careLinks.familyId} and ${careAgreements.guardianId} = ${careLinks.personId}
    and ${careAgreements.decidedAt} >= ${careLinks.createdAt} order by ${careAgreements.sequence} desc limit 1)`;
  return db.select({
    personId: careLinks.personId, childId: careLinks.childId, familyId: careLinks.familyId, relation: careLinks.relation, agreement,
    givenName: children.givenName, bornIn: children.bornIn, ownSignInAge: practices.ownSignInAge, adultAge: practices.adultAge, zone: practices.timeZone,
  }).from(careLinks)
    .innerJoin(children, and(eq(children.id, careLinks.childId), eq(children.familyId, careLinks.familyId)))
    .innerJoin(families, eq(families.id, careLinks.familyId))
    .innerJoin(practices, eq(practices.id, families.practiceId))
    .where(and(isNull(careLinks.endedAt), which)).orderBy(asc(children.givenName), asc(careLinks.createdAt));
}

type LinkRow = ReturnType<ReturnType<typeof linkRows>["all"]>[number];

const reachesOn = (rows: readonly LinkRow[], now: number): readonly OpenLink[] => rows.map(({ zone, ownSignInAge, adultAge, ...link }) => {
  const today = localDate(now, zone);
  return { ...link, isAdult: isOfAge(link.bornIn, adultAge, today), reach: careReach(link, { ownSignInAge, adultAge }, today) };
});

const linkRowsTo = prepared((db) => linkRows(db, and(eq(careLinks.personId, sql.placeholder("personId")), eq(careLinks.childId, sql.placeholder("childId")))).prepare());

/** The carer's own open link to this child, whatever it lets them do; null without one. */
export const linkTo = ({ personId }: Actor, childId: string, now: number): OpenLink | null =>
  reachesOn(linkRowsTo().all({ personId, childId }), now)[0] ?? null;

const linkRowsOfChild = prepared((db) => linkRows(db, and(eq(careLinks.childId, OF_CHILD.childId), eq(careLinks.familyId, OF_CHILD.familyId))).prepare());

/** Everybody's open links to this child. */
export const linksToChild = ({ childId, familyId }: { readonly childId: string; readonly familyId: string }, now: number): readonly OpenLink[] =>
  reachesOn(linkRowsOfChild().all({ childId, familyId }), now);

const linkRowsOfChildren = prepared((db) => linkRows(db, among(careLinks.childId, "childIds")).prepare());

/** Everybody's open links to these children. */
export const linksToChildren = (childIds: readonly string[], now: number): readonly OpenLink[] => reachesOn(linkRowsOfChildren().all({ childIds: JSON.stringify(childIds) }), now);

const linkRowsOf = prepared((db) => linkRows(db, eq(careLinks.personId, sql.placeholder("personId"))).prepare());

export const linksOf = (personId: string, now: number): readonly OpenLink[] => reachesOn(linkRowsOf().all({ personId }), now);

/** Inside an act: whether the person who was granted this child a moment ago may still reach it. */
export const reachesStill = (actor: Actor, childId: string): boolean =>
  isStaff(actor.role) || (linkTo(actor, childId, Date.now())?.reach ?? "none") !== "none";
