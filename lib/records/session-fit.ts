import "server-only";
import { and, asc, eq, sql } from "drizzle-orm";
import { database } from "@/db/client";
import { among, prepared } from "@/db/prepared";
import { children, curveRecords, families, setups } from "@/db/schema/care";
import type { PracticeGrant } from "@/lib/access/grant";
import { StoredCurveRecord } from "@/lib/domain/curve/record.schema";
import { once } from "@/lib/domain/once";
import { fitOf, type Fit } from "@/lib/domain/sessions/fit";
import { resolve } from "@/lib/domain/setup/resolve";
import { endOfLocalDay } from "@/lib/domain/time/local";
import { readCalendar } from "@/lib/records/calendar";
import type { ChildRef } from "@/lib/records/child-facts";
import { exerciseOf } from "@/lib/records/exercises";
import type { GroupSession } from "@/lib/records/group-sessions";

type Taught = Pick<GroupSession, "exerciseKey" | "patternKey">;

/** Whether a child may be taught a session's exercise in its group, read afresh. For lib/records alone. */
export const readFit = (practiceId: string, ref: ChildRef, taught: Taught, now: number): Fit => readFits(practiceId, [ref], taught, now)(ref.childId);

const recordsOf = prepared((db) => db.select({
  childId: curveRecords.childId, id: curveRecords.id, record: curveRecords.record, reassessBy: curveRecords.reassessBy, patternKey: curveRecords.patternKey,
}).from(curveRecords).where(among(curveRecords.childId, "childIds")).orderBy(asc(curveRecords.childId), asc(curveRecords.sequence)).prepare());
const setupsOf = prepared((db) => db.select({
  childId: setups.childId, exerciseVersion: setups.exerciseVersion, curveRecordId: setups.curveRecordId, kind: setups.kind,
}).from(setups).where(and(among(setups.childId, "childIds"), eq(setups.exerciseKey, sql.placeholder("exerciseKey")))).orderBy(asc(setups.childId), asc(setups.sequence)).prepare());

/** The same of many children, in two statements. For lib/records alone: the caller filtered them by its grant. */
export function readFits(practiceId: string, refs: readonly ChildRef[], { exerciseKey, patternKey }: Taught, now: number): (childId: string) => Fit {
  const { zone } = readCalendar(practiceId);
  // The newest comes last and takes the place of those before it.
  const given = { childIds: JSON.stringify(refs.map(({ childId }) => childId)), exerciseKey };
  const records = new Map(recordsOf().all(given).map((row) => [row.childId, row]));
  const setUp = new Map(setupsOf().all(given).map((row) => [row.childId, row]));
  const isNotCovered = once(
    ({ record, version }: { readonly record: string; readonly version: number }) => resolve(exerciseOf(practiceId, exerciseKey, version), StoredCurveRecord.parse(JSON.parse(record))).coverage === "not-covered",
    ({ record, version }) => `${version} ${record}`,
  );
  const isPast = once((reassessBy: string) => !(now < endOfLocalDay(reassessBy, zone)));
  return (childId) => {
    const [record, setup] = [records.get(childId) ?? null, setUp.get(childId) ?? null];
    return fitOf({
      record: record && { id: record.id, patternKey: record.patternKey, isPast: record.reassessBy !== null && isPast(record.reassessBy) },
      setup, isNotCovered: record === null || (setup !== null && isNotCovered({ record: record.record, version: setup.exerciseVersion })),
    }, patternKey);
  };
}

export type MayCome = ChildRef & { readonly childName: string; readonly familyName: string };

/** Children of one list, and looked at in one statement: few enough that nobody waits behind it. */
const [SHOWN, AT_ONCE] = [50, 200];

/**
 * Children of the practice without a place whom the session fits, the first by name; where a name is sought, of those
 * who or whose family are called so. Looked for from name to name until there are enough; `hasMore` when there may be others.
 */
export async function mayBeTakenIn(
  grant: PracticeGrant<"families.read">, session: GroupSession, there: readonly ChildRef[], now: number, sought = "",
): Promise<{ readonly fitting: readonly MayCome[]; readonly hasMore: boolean }> {
  const placed = new Set(there.map(({ childId }) => childId));
  const fitting: MayCome[] = [];
  for (let lot = readByName(grant.practiceId, null); lot.length > 0; lot = readByName(grant.practiceId, lot.at(-1) ?? null)) {
    const candidates = lot.filter((child) => !placed.has(child.childId) && isCalled(child, sought.toLowerCase()));
    const fit = readFits(grant.practiceId, candidates, session, now);
    for (const child of candidates) if (fit(child.childId) === "fits") fitting.push(child);
    if (fitting.length > SHOWN) break;
    if (lot.length < AT_ONCE) break;
    await new Promise(setImmediate);
  }
  return { fitting: fitting.slice(0, SHOWN), hasMore: fitting.length > SHOWN };
}

const isCalled = ({ childName, familyName }: MayCome, sought: string): boolean => sought === "" || [childName, familyName].some((name) => name.toLowerCase().includes(sought));

function readByName(practiceId: string, after: MayCome | null): readonly MayCome[] {
  return database().select({ childId: children.id, familyId: children.familyId, childName: children.givenName, familyName: families.name }).from(children)
    .crossJoin(families) // in this order, so that the index by name gives the order and the lot ends early
    .where(and(eq(families.id, children.familyId), eq(families.practiceId, practiceId), after ? sql`(${children.givenName}, ${children.id}) > (${after.childName}, ${after.childId})` : undefined))
    .orderBy(asc(children.givenName), asc(children.id)).limit(AT_ONCE).all();
}
