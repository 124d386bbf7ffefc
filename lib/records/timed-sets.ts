import "server-only";
import { and, asc, eq, isNotNull, isNull, sql } from "drizzle-orm";
import { database } from "@/db/client";
import { answers } from "@/db/schema/answers";
import { curveRecords, families, setups } from "@/db/schema/care";
import { photoSets } from "@/db/schema/photos";
import { patternOf, type Pattern } from "@/lib/domain/curve/record";
import { StoredCurveRecord } from "@/lib/domain/curve/record.schema";
import { firstAnswer } from "@/lib/records/in-force";

const MORE = { childId: photoSets.childId, exerciseKey: photoSets.exerciseKey, setupId: photoSets.setupId, answeredBy: answers.answeredBy } as const;
/** What can be asked for besides, each at the price of reading it thousands of times. */
export type More = keyof typeof MORE;

/** One sent photo set that still counts, with the answer that stopped its clock. Instants are UTC ms; null for what was not asked for, too. */
export type SetRow = { readonly photoSetId: string; readonly sentAt: number; readonly answeredAt: number | null } & Readonly<Record<More, string | null>>;

/** Rows of one statement: few enough that nobody waits behind it. */
const ROWS = 2000;

/**
 * Every sent photo set that still counts, oldest first, some at a time; between two lots whoever waits for the
 * database or the server gets a turn. For lib/records alone: the caller has the grant.
 */
export async function* sentSets(practiceId: string, more: readonly More[]): AsyncGenerator<readonly SetRow[]> {
  const asked = Object.fromEntries(more.map((name) => [name, MORE[name]]));
  let [lastAt, lastId] = [-1, ""];
  for (;;) {
    // Bare values: naming the fields of every row inside the library takes longer than reading it.
    const rows = database().select({ photoSetId: photoSets.id, sentAt: photoSets.sentAt, answeredAt: answers.answeredAt, ...asked }).from(photoSets)
      .innerJoin(families, eq(families.id, photoSets.familyId))
      .leftJoin(answers, and(eq(answers.photoSetId, photoSets.id), firstAnswer()))
      .where(and(eq(families.practiceId, practiceId), isNotNull(photoSets.sentAt), isNull(photoSets.voidedAt), sql`(${photoSets.sentAt}, ${photoSets.id}) > (${lastAt}, ${lastId})`))
      .orderBy(asc(photoSets.sentAt), asc(photoSets.id)).limit(ROWS).values() as readonly unknown[] as readonly Values[]; // in the order selected
    const [childId, exerciseKey, setupId, answeredBy] = (["childId", "exerciseKey", "setupId", "answeredBy"] as const).map((name) => {
      const at = more.indexOf(name);
      return at < 0 ? () => null : (row: Values) => row[FIXED + at] as string | null; // a text column of the select above
    }) as [Read, Read, Read, Read]; // one for each name
    yield rows.map((row) => ({
      photoSetId: row[0], sentAt: row[1], answeredAt: row[2], childId: childId(row), exerciseKey: exerciseKey(row), setupId: setupId(row), answeredBy: answeredBy(row),
    }));
    const last = rows.at(-1);
    if (!last || rows.length < ROWS) return;
    [lastId, lastAt] = [last[0], last[1]];
    await new Promise(setImmediate);
  }
}

const FIXED = 3;
type Values = readonly [photoSetId: string, sentAt: number, answeredAt: number | null, ...more: readonly unknown[]];
type Read = (row: Values) => string | null;

/** The pattern's key of every set-up: of the curve record that it was confirmed for. For lib/records alone. */
export function setupPatterns(practiceId: string): ReadonlyMap<string, string> {
  const rows = database().select({ setupId: setups.id, patternKey: curveRecords.patternKey }).from(setups)
    .innerJoin(families, eq(families.id, setups.familyId)).innerJoin(curveRecords, eq(curveRecords.id, setups.curveRecordId))
    .where(eq(families.practiceId, practiceId)).all();
  return new Map(rows.map(({ setupId, patternKey }) => [setupId, patternKey]));
}

/** Every pattern of this practice by its key. For lib/records alone. */
export function patternsByKey(practiceId: string): ReadonlyMap<string, Pattern> {
  const rows = database().select({ patternKey: curveRecords.patternKey, record: sql<string>`max(${curveRecords.record})` }).from(curveRecords)
    .innerJoin(families, eq(families.id, curveRecords.familyId)).where(eq(families.practiceId, practiceId)).groupBy(curveRecords.patternKey).all();
  return new Map(rows.map(({ patternKey, record }) => [patternKey, patternOf(StoredCurveRecord.parse(JSON.parse(record)))]));
}
