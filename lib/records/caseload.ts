import "server-only";
import { and, asc, eq, gt, sql } from "drizzle-orm";
import { database } from "@/db/client";
import { children, consents, curveRecords, families, setups } from "@/db/schema/care";
import { photoSets } from "@/db/schema/photos";
import { practices } from "@/db/schema/practice";
import type { PracticeGrant } from "@/lib/access/grant";
import { moreUrgent, reasonsToLook, urgencyOf, weeksUnlessChosen, type AtFix, type CaseFacts, type Reason } from "@/lib/domain/caseload/reasons";
import { groupByItem, photosAtFix, standing } from "@/lib/domain/ledger/standing";
import { isOfAge, reachedOn } from "@/lib/domain/policy/care";
import { instantOf, localDate } from "@/lib/domain/time/local";
import { readOpenItems } from "@/lib/records/caseload-items";
import { exercisesIn, readOpenStops, readUnreadSince } from "@/lib/records/caseload-stops";
import { readSetupsOf, type ChildRef, type CurrentSetup } from "@/lib/records/child-facts";
import { isInForce } from "@/lib/records/consent-in-force";
import type { JudgedRow } from "@/lib/records/judged";

export type CaseRow = ChildRef & {
  readonly childName: string;
  readonly familyName: string;
  /** The most urgent first; none when the child needs no look. */
  readonly reasons: readonly Reason[];
};

export type Caseload = {
  /** Every child of the practice. */
  readonly rows: readonly CaseRow[];
  /** Weeks without a photo set that were asked for. */
  readonly weeks: number;
  readonly timeZone: string;
};

/**
 * Every child of the practice with the reasons to look at it, by urgency or by name. A few statements for every
 * `CHILDREN_AT_ONCE`; what may be stuck or stopped is narrowed down by an index first and then judged by the ledger's
 * and the read-backs' own rules. Between two lots whoever waits for the database or the server gets a turn. `weeks`
 * null: as the practice would.
 */
export async function caseloadOf(
  grant: PracticeGrant<"caseload.read">,
  asked: { readonly weeks: number | null; readonly order: "urgency" | "name" },
  now: number,
): Promise<Caseload> {
  const practice = database().select({ timeZone: practices.timeZone, photoWeeks: practices.photoWeeks, adultAge: practices.adultAge }).from(practices)
    .where(eq(practices.id, grant.practiceId)).get();
  if (!practice) throw new Error("the practice is missing");
  const weeks = asked.weeks ?? weeksUnlessChosen(practice.photoWeeks);
  const rows: CaseRow[] = [];
  for (let lot = readChildren(grant.practiceId, ""); lot.length > 0; lot = readChildren(grant.practiceId, lot.at(-1)?.childId ?? "")) {
    for (const row of looked(grant.practiceId, practice, lot, weeks, now)) rows.push(row);
    await new Promise(setImmediate);
    if (lot.length < CHILDREN_AT_ONCE) break;
  }
  rows.sort((a, b) => byText(a.childName, b.childName) || byText(a.familyName, b.familyName) || byText(a.childId, b.childId));
  return { rows: asked.order === "name" ? rows : await mostUrgentFirst(rows), weeks, timeZone: practice.timeZone };
}

/** Sorted in a turn of its own: of ten thousand children this takes as long as a lot. */
async function mostUrgentFirst(rows: readonly CaseRow[]): Promise<readonly CaseRow[]> {
  await new Promise(setImmediate);
  return rows.map((row) => [urgencyOf(row.reasons), row] as const).sort(([a], [b]) => moreUrgent(a, b)).map(([, row]) => row);
}

/** Rows of one statement: few enough that nobody waits behind it. */
const CHILDREN_AT_ONCE = 100;

const byText = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);

type Practice = { readonly timeZone: string; readonly adultAge: number };

/** The reasons of a few children, from what is read of all of them at once. */
function looked(practiceId: string, practice: Practice, lot: ReturnType<typeof readChildren>, weeks: number, now: number): readonly CaseRow[] {
  const today = localDate(now, practice.timeZone);
  const childIds = lot.map(({ childId }) => childId);
  const openItems = readOpenItems(practiceId, now, childIds);
  const openStops = readOpenStops(practiceId, openItems.values(), childIds);
  const setupOf = readSetupsOf([...exercisesIn(openStops), ...[...openItems.values()].flatMap(([first]) => first ?? [])]);
  const unreadSince = readUnreadSince(openStops, setupOf, now);
  const atFix = itemsAtFix(openItems, setupOf);
  return lot.map(({ bornIn, reassessBy, decision, decidedAt, setUpAt, lastSentAt, ...child }): CaseRow => {
    const isAdult = isOfAge(bornIn, practice.adultAge, today);
    const adultAt = () => instantOf(reachedOn(bornIn, practice.adultAge), 0, practice.timeZone);
    const isOut = decision === null || decidedAt === null || (isAdult && !isInForce({ decision, decidedAt }, adultAt(), now));
    const facts: CaseFacts = {
      unreadSince: unreadSince.get(child.childId) ?? null,
      record: reassessBy === null ? null : { reassessBy: reassessBy === UNDATED ? null : reassessBy },
      atFix: atFix.get(child.childId) ?? [], photoConsent: isOut ? "never" : decision, setUpAt, lastSentAt,
    };
    return { ...child, reasons: reasonsToLook(facts, { now, today, weeks }) };
  });
}

/** A record without a reassessment date, told apart from no record. */
const UNDATED = "";

/** One row a child, by id, those after one; each fact by an index of its own. */
function readChildren(practiceId: string, after: string) {
  const newestConsent = sql`from ${consents} where ${consents.childId} = ${children.id} and ${consents.familyId} = ${children.familyId}
    and ${consents.purpose} = 'photos' order by ${consents.sequence} desc limit 1`;
  return database().select({
    childId: children.id, familyId: children.familyId, childName: children.givenName, familyName: families.name, bornIn: children.bornIn,
    reassessBy: sql<string | null>`(select coalesce(${curveRecords.reassessBy}, ${UNDATED}) from ${curveRecords}
      where ${curveRecords.childId} = ${children.id} and ${curveRecords.familyId} = ${children.familyId} order by ${curveRecords.sequence} desc limit 1)`,
    decision: sql<"given" | "withdrawn" | null>`(select ${consents.decision} ${newestConsent})`,
    decidedAt: sql<number | null>`(select ${consents.decidedAt} ${newestConsent})`,
    setUpAt: sql<number | null>`(select min(${setups.confirmedAt}) from ${setups} where ${setups.childId} = ${children.id} and ${setups.familyId} = ${children.familyId})`,
    // What was sent for another child by mistake is nothing this one sent.
    lastSentAt: sql<number | null>`(select ${photoSets.sentAt} from ${photoSets} where ${photoSets.childId} = ${children.id} and ${photoSets.familyId} = ${children.familyId}
      and ${photoSets.sentAt} is not null and (${photoSets.voidReason} is null or ${photoSets.voidReason} <> 'wrong-child') order by ${photoSets.sentAt} desc limit 1)`,
  }).from(children).crossJoin(families)
    .where(and(eq(families.id, children.familyId), eq(families.practiceId, practiceId), gt(children.id, after))).orderBy(asc(children.id)).limit(CHILDREN_AT_ONCE).all();
}

/** By child, the items of its set-ups that stand at fix, in checklist order, as the ledger counts them. */
function itemsAtFix(openItems: ReadonlyMap<string, readonly JudgedRow[]>, setupOf: ReadonlyMap<string, CurrentSetup>): ReadonlyMap<string, readonly AtFix[]> {
  const by = new Map<string, AtFix[]>();
  for (const [key, judged] of openItems) {
    const [first] = judged;
    const setup = setupOf.get(key);
    if (!first || !setup) continue;
    const ofItem = groupByItem(judged);
    const found = setup.resolution.items.flatMap((item) => {
      const photos = photosAtFix(standing(ofItem.get(item.key) ?? [], item, setup.sides).counting);
      return photos > 0 ? [{ exerciseKey: first.exerciseKey, itemKey: item.key, photos }] : [];
    });
    if (found.length > 0) by.set(first.childId, [...(by.get(first.childId) ?? []), ...found]);
  }
  return by;
}
