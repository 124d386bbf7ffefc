import "server-only";
import { and, asc, eq, inArray, isNotNull, isNull, lt, sql, type SQL } from "drizzle-orm";
import { database } from "@/db/client";
import { answers } from "@/db/schema/answers";
import { curveRecords, families, setups } from "@/db/schema/care";
import { photoSets, waitingSets } from "@/db/schema/photos";
import { patternOf, type Pattern } from "@/lib/domain/curve/record";
import { StoredCurveRecord } from "@/lib/domain/curve/record.schema";
import { firstAnswer } from "@/lib/records/in-force";

const EARLIER = sql`from photo_sets earlier where earlier.child_id = ${photoSets.childId} and earlier.exercise_key = ${photoSets.exerciseKey}
    and earlier.sent_at is not null and earlier.voided_at is null and (earlier.sent_at, earlier.id) < (${photoSets.sentAt}, ${photoSets.id})`;
const MORE = {
  exerciseKey: photoSets.exerciseKey, answeredBy: answers.answeredBy,
  /** Of the curve record that its set-up was confirmed for. */
  patternKey: sql<string | null>`(select ${curveRecords.patternKey} from ${setups} join ${curveRecords} on ${curveRecords.id} = ${setups.curveRecordId} where ${setups.id} = ${photoSets.setupId})`,
  /** Set for the first of its child and exercise. */
  isFirst: sql<string | null>`iif(exists (select 1 ${EARLIER}), null, 'first')`,
  /** Which of them it is, from 1. */
  nth: sql<number>`1 + (select count(*) ${EARLIER})`,
} as const;
/** What can be asked for besides, each at the price of reading it thousands of times. */
export type More = keyof typeof MORE;

/** One sent photo set that still counts, with the answer that stopped its clock. Instants are UTC ms; null for what was not asked for, too. */
export type SetRow = { readonly photoSetId: string; readonly sentAt: number; readonly answeredAt: number | null; readonly nth: number | null } & Readonly<Record<Exclude<More, "nth">, string | null>>;

/** Photo sets sent from one instant until another. */
export type Span = { readonly from: number; readonly until: number };
export const EVER: Span = { from: 0, until: Number.MAX_SAFE_INTEGER };

/** Rows of one statement: few enough that nobody waits behind it. */
const ROWS = 2000;

/**
 * Every photo set that was sent then and still counts, oldest first, some at a time; between two lots whoever waits for the
 * database or the server gets a turn. For lib/records alone: the caller has the grant.
 */
export async function* sentSets(practiceId: string, more: readonly More[], { from, until }: Span = EVER, atOnce = ROWS): AsyncGenerator<readonly SetRow[]> {
  let after: Pick<SetRow, "sentAt" | "photoSetId"> = { sentAt: from, photoSetId: "" };
  for (;;) {
    const rows = asRows(more, countedSets(practiceId, more, and(sql`(${photoSets.sentAt}, ${photoSets.id}) > (${after.sentAt}, ${after.photoSetId})`, lt(photoSets.sentAt, until)))
      .orderBy(asc(photoSets.sentAt), asc(photoSets.id)).limit(atOnce).values());
    yield rows;
    const last = rows.at(-1);
    if (!last || rows.length < atOnce) return;
    after = last;
    await new Promise(setImmediate);
  }
}

/** Those that wait for an answer, however old. */
export const setsWaiting = (practiceId: string, more: readonly More[]): readonly SetRow[] =>
  asRows(more, countedSets(practiceId, more, inArray(photoSets.id, database().select({ id: waitingSets.photoSetId }).from(waitingSets))).values());

function countedSets(practiceId: string, more: readonly More[], which: SQL | undefined) {
  return database().select({ photoSetId: photoSets.id, sentAt: photoSets.sentAt, answeredAt: answers.answeredAt, ...Object.fromEntries(more.map((name) => [name, MORE[name]])) }).from(photoSets)
    .innerJoin(families, eq(families.id, photoSets.familyId))
    .leftJoin(answers, and(eq(answers.photoSetId, photoSets.id), firstAnswer()))
    .where(and(eq(families.practiceId, practiceId), isNotNull(photoSets.sentAt), isNull(photoSets.voidedAt), which));
}

/** Bare values, in the order selected: naming the fields of every row inside the library takes longer than reading it. */
function asRows(more: readonly More[], values: readonly unknown[]): readonly SetRow[] {
  const read = (name: More): ((row: Values) => unknown) => {
    const at = more.indexOf(name);
    return at < 0 ? () => null : (row) => row[FIXED + at];
  };
  const [exerciseKey, answeredBy, patternKey, isFirst] = (["exerciseKey", "answeredBy", "patternKey", "isFirst"] as const).map(read) as [Read<string>, Read<string>, Read<string>, Read<string>]; // columns of the select above
  const nth = read("nth") as Read<number>; // as above
  return (values as readonly Values[]).map((row) => ({ // as above
    photoSetId: row[0], sentAt: row[1], answeredAt: row[2], exerciseKey: exerciseKey(row), answeredBy: answeredBy(row), patternKey: patternKey(row), isFirst: isFirst(row), nth: nth(row),
  }));
}

const FIXED = 3;
type Values = readonly [photoSetId: string, sentAt: number, answeredAt: number | null, ...more: readonly unknown[]];
type Read<T> = (row: Values) => T | null;

/** Every pattern of this practice by its key, one record of each: found by the next key after another. For lib/records alone. */
export function patternsByKey(practiceId: string): ReadonlyMap<string, Pattern> {
  const rows = database().all<{ readonly patternKey: string; readonly record: string }>(sql`
    with recursive keys (key) as (
      select min(pattern_key) from curve_records union all select (select min(pattern_key) from curve_records where pattern_key > key) from keys where key is not null)
    select key as "patternKey", (select r.record from curve_records r join families p on p.id = r.family_id where r.pattern_key = key and p.practice_id = ${practiceId} limit 1) as record
    from keys where key is not null and record is not null`);
  return new Map(rows.map(({ patternKey, record }) => [patternKey, patternOf(StoredCurveRecord.parse(JSON.parse(record)))]));
}
