import "server-only";
import { and, asc, count, eq, inArray, isNotNull, isNull, max, sql } from "drizzle-orm";
import { database } from "@/db/client";
import { OF_CHILD, prepared } from "@/db/prepared";
import { children, families } from "@/db/schema/care";
import { photoSets, waitingSets } from "@/db/schema/photos";
import { backQuestions } from "@/db/schema/questions";
import { isStaff, type Actor } from "@/lib/access/actor";
import { linksOf } from "@/lib/access/care-reach";
import type { ChildGrant, FamilyGrant, PracticeGrant } from "@/lib/access/grant";
import type { Reach } from "@/lib/domain/policy/care";
import { ok, type Result } from "@/lib/domain/result";
import { act } from "@/lib/records/act";
import { isOpenQuestion } from "@/lib/records/back-question-reads";
import { readCarers, type Carer } from "@/lib/records/carers";

export type ChildView = { readonly childId: string; readonly familyId: string; readonly givenName: string; readonly bornIn: string };
export type FamilyView = { readonly familyId: string; readonly name: string; readonly children: readonly ChildView[] };

/** A child as its carer sees it, with what their care link lets them do now. */
export type OwnChild = ChildView & { readonly reach: Exclude<Reach, "none"> };

/** The children a parent or young person may reach now, by their care links. */
export async function childrenOf(actor: Actor): Promise<readonly OwnChild[]> {
  return linksOf(actor.personId, Date.now())
    .flatMap(({ childId, familyId, givenName, bornIn, reach }) => (reach === "none" ? [] : [{ childId, familyId, givenName, bornIn, reach }]));
}

/** Names of those whose link is open and lets this carer see nothing: too young for an own sign-in, or grown up since. */
export async function closedChildrenOf(actor: Actor): Promise<readonly string[]> {
  return linksOf(actor.personId, Date.now()).filter(({ reach }) => reach === "none").map(({ givenName }) => givenName);
}

/** Families on one page. */
const AT_ONCE = 30;

export type FamilyPage = { readonly families: readonly FamilyView[]; /** How many were found, on all pages. */ readonly found: number; readonly page: number; readonly pages: number };

/** Families by name, a page of them; those that are called so, or one of whose children is, where a name is sought. */
export async function familiesOf({ practiceId }: PracticeGrant<"families.read">, asked: { readonly sought: string; readonly page: number } = { sought: "", page: 1 }): Promise<FamilyPage> {
  const ofPractice = eq(families.practiceId, practiceId);
  const called = asked.sought === "" ? null : calledSo(practiceId, asked.sought.toLowerCase());
  const found = called ? called.length : database().select({ n: count() }).from(families).where(ofPractice).get()?.n ?? 0;
  const pages = Math.max(1, Math.ceil(found / AT_ONCE));
  const page = Math.min(Math.max(1, asked.page), pages);
  const before = (page - 1) * AT_ONCE;
  const named = database().select({ familyId: families.id, name: families.name }).from(families);
  const shown = called ? named.where(and(ofPractice, inArray(families.id, called.slice(before, before + AT_ONCE)))).orderBy(asc(families.name), asc(families.id)).all()
    : named.where(ofPractice).orderBy(asc(families.name), asc(families.id)).limit(AT_ONCE).offset(before).all();
  const all = database().select({ childId: children.id, familyId: children.familyId, givenName: children.givenName, bornIn: children.bornIn })
    .from(children).where(inArray(children.familyId, shown.map(({ familyId }) => familyId))).orderBy(asc(children.givenName)).all();
  return { families: shown.map((row) => ({ ...row, children: all.filter((child) => child.familyId === row.familyId) })), found, page, pages };
}

/** In the order of their names. Compared here: the database knows no letter case but that of ASCII. */
function calledSo(practiceId: string, sought: string): readonly string[] {
  const rows = database().select({ id: families.id, name: families.name, child: children.givenName }).from(families)
    .leftJoin(children, eq(children.familyId, families.id)).where(eq(families.practiceId, practiceId)).orderBy(asc(families.name), asc(families.id))
    .values() as readonly unknown[] as readonly (readonly [string, string, string | null])[]; // in the order selected
  return [...new Set(rows.flatMap(([id, name, child]) => ([name, child ?? ""].some((each) => each.toLowerCase().includes(sought)) ? [id] : [])))];
}

/** Whether there is anybody who could send. */
export const hasFamilies = async ({ practiceId }: PracticeGrant<"queue.read">): Promise<boolean> =>
  database().select({ id: families.id }).from(families).where(eq(families.practiceId, practiceId)).limit(1).get() !== undefined;

export type Sent = { readonly childId: string; readonly lastSentAt: number | null; readonly waiting: number };

/** Of each of these children that ever sent a photo set that still counts: the last one, and how many wait for an answer: not those that wait on the family. */
export async function sentByChild(grant: PracticeGrant<"families.read">, childIds: readonly string[]): Promise<readonly Sent[]> {
  return database().select({
    childId: photoSets.childId, lastSentAt: max(photoSets.sentAt), waiting: sql<number>`count(${waitingSets.photoSetId}) - count(case when ${waitingSets.photoSetId} is not null then ${backQuestions.id} end)`,
  }).from(photoSets)
    .innerJoin(families, eq(families.id, photoSets.familyId))
    .leftJoin(waitingSets, eq(waitingSets.photoSetId, photoSets.id))
    .leftJoin(backQuestions, and(eq(backQuestions.photoSetId, waitingSets.photoSetId), isOpenQuestion()))
    .where(and(eq(families.practiceId, grant.practiceId), inArray(photoSets.childId, [...childIds]), isNotNull(photoSets.sentAt), isNull(photoSets.voidedAt)))
    .groupBy(photoSets.childId).all();
}

/** One family as this person may see it: staff all its children, a guardian the linked ones. */
export async function familyOf(grant: FamilyGrant<"family.read">): Promise<FamilyView> {
  const family = database().select({ familyId: families.id, name: families.name }).from(families).where(eq(families.id, grant.familyId)).get();
  if (!family) throw new Error("a granted family is missing");
  const own = isStaff(grant.actor.role) ? null : (await childrenOf(grant.actor)).map((child) => child.childId);
  const rows = database().select({ childId: children.id, familyId: children.familyId, givenName: children.givenName, bornIn: children.bornIn })
    .from(children)
    .where(and(eq(children.familyId, grant.familyId), own === null ? undefined : inArray(children.id, own)))
    .orderBy(asc(children.givenName)).all();
  return { ...family, children: rows };
}

const theChild = prepared((db) => db.select({
  childId: children.id, familyId: children.familyId, givenName: children.givenName, bornIn: children.bornIn, familyName: families.name,
}).from(children).innerJoin(families, eq(families.id, children.familyId))
  .where(and(eq(children.id, OF_CHILD.childId), eq(children.familyId, OF_CHILD.familyId))).prepare());

export async function childOf({ childId, familyId }: ChildGrant<"child.read">): Promise<ChildView & { readonly familyName: string }> {
  const row = theChild().get({ childId, familyId });
  if (!row) throw new Error("a granted child is missing");
  return row;
}

/** Who cares for this child, with the phone number to call when something hurts. Staff only see this. */
export const carersOf = async (grant: ChildGrant<"curve-record.write">, now: number): Promise<readonly Carer[]> => readCarers(grant, now);

export async function addFamily(grant: PracticeGrant<"families.add">, name: string, now: number): Promise<Result<{ readonly familyId: string }>> {
  const familyId = crypto.randomUUID();
  return act(grant, "family.added", now, (tx) => {
    tx.insert(families).values({ id: familyId, practiceId: grant.practiceId, name, createdAt: now }).run();
    return ok({ objectId: familyId, value: { familyId } });
  });
}

export async function addChild(
  grant: FamilyGrant<"child.add">,
  child: { readonly givenName: string; readonly bornIn: string },
  now: number,
): Promise<Result<{ readonly childId: string }>> {
  const childId = crypto.randomUUID();
  return act(grant, "child.added", now, (tx) => {
    tx.insert(children).values({ id: childId, familyId: grant.familyId, ...child, createdAt: now }).run();
    return ok({ objectId: childId, value: { childId } });
  });
}
