import "server-only";
import { sql, type SQL } from "drizzle-orm";
import { database } from "@/db/client";
import { verdicts } from "@/db/schema/answers";
import { STUCK_AFTER } from "@/lib/domain/caseload/reasons";
import { keyOf } from "@/lib/records/child-facts";
import { exerciseKeys, exerciseVersionsOf } from "@/lib/records/exercises";
import { grouped } from "@/lib/records/grouped";
import { readJudgedWhere, type JudgedRow } from "@/lib/records/judged";

type Place = { readonly childId: string; readonly exerciseKey: string; readonly itemKey: string };

type OpenItems = ReadonlyMap<string, readonly JudgedRow[]>;

/**
 * Every verdict that counts of each item of these children that may hold an open stop, or else be stuck, in order, by `keyOf`
 * child and exercise.
 */
export const readOpenItems = (practiceId: string, now: number, childIds: readonly string[]): OpenItems =>
  readItems(mayBeOpen(practiceId, sql`verdicts where verdict = 'fix' and child_id in (select value from json_each(${JSON.stringify(childIds)}))`, now), now);

/** The same of items that may hold an open stop alone, of all children or of some. */
export const readStoppedItems = (practiceId: string, now: number, childIds: readonly string[] | null = null): OpenItems => readItems(mayBeStopped(practiceId, now, childIds), now);

function readItems(places: readonly Place[], now: number): OpenItems {
  const rows = inLots(places).flatMap((lot) => readJudgedWhere(sql`(${verdicts.childId}, ${verdicts.exerciseKey}, ${verdicts.itemKey}) in (
    select value ->> 0, value ->> 1, value ->> 2 from json_each(${asJson(lot)}))`, now));
  return grouped(rows, keyOf);
}

/**
 * Every item that may hold an open stop, and few others: of those that a verdict stopped, what triggers keep; and faults of
 * items that became stop items later, which are few.
 */
function mayBeStopped(practiceId: string, now: number, childIds: readonly string[] | null): readonly Place[] {
  const of = childIds === null ? sql`` : sql`and child_id in (select value from json_each(${JSON.stringify(childIds)}))`;
  const stopped = database().all<Place>(sql`
    select o.child_id as "childId", o.exercise_key as "exerciseKey", o.item_key as "itemKey" from stopped_items o
    join families p on p.id = o.family_id where p.practice_id = ${practiceId} and (lifted_at is null or lifted_at > ${now}) ${of}`);
  const later = database().all<Place>(sql`select distinct child_id as "childId", exercise_key as "exerciseKey", item_key as "itemKey" from verdicts
    where verdict = 'fix' and is_stop = 0 and item_key in ${stopItems(practiceId)} ${of}`);
  const found = new Map([...stopped, ...inLots(later).flatMap((lot) => mayBeOpen(practiceId, sql`
    json_each(${asJson(lot)}) place
    cross join verdicts on verdict = 'fix' and child_id = place.value ->> 0 and exercise_key = place.value ->> 1 and item_key = place.value ->> 2`, now))]
    .map((place) => [`${keyOf(place)} ${place.itemKey}`, place]));
  return [...found.values()];
}

const PLACES_AT_ONCE = 500;

/** A few at once, so that nobody waits behind one statement. */
const inLots = (places: readonly Place[]): readonly (readonly Place[])[] =>
  Array.from({ length: Math.ceil(places.length / PLACES_AT_ONCE) }, (_, lot) => places.slice(lot * PLACES_AT_ONCE, (lot + 1) * PLACES_AT_ONCE));

const asJson = (places: readonly Place[]): string => JSON.stringify(places.map(({ childId, exerciseKey, itemKey }) => [childId, exerciseKey, itemKey]));

/**
 * Every item that may be stuck or hold an open stop, and few others, in one statement. The ledger decides later, on
 * few rows; left out is only what cannot be: an item with fewer fixes than it takes, whatever became of them, and one
 * that was plainly put right after them. So nothing that somebody changed later puts an item right here: no amended
 * answer, none taken back, not out yet or for another child, and none for other sides than are in force.
 */
function mayBeOpen(practiceId: string, fixes: SQL, now: number): readonly Place[] {
  const stops = stopItems(practiceId);
  const isStop = sql`max(case when is_stop or item_key in ${stops} then 1 else 0 end)`;
  return database().all<Place>(sql`
    select f.child_id as "childId", f.exercise_key as "exerciseKey", f.item_key as "itemKey"
    from (
      select child_id, exercise_key, item_key, max(sequence) as newest, max(judged_at) as judged, ${isStop} as stop
      from ${fixes} group by child_id, exercise_key, item_key having ${isStop} = 1 or count(*) >= ${STUCK_AFTER}
    ) f cross join children c on c.id = f.child_id cross join families p on p.id = c.family_id
    where p.practice_id = ${practiceId} and not exists (
      select 1 from verdicts v left join answers a on a.id = v.answer_id left join photo_sets s on s.id = a.photo_set_id
      where v.child_id = f.child_id and v.exercise_key = f.exercise_key and v.item_key = f.item_key
        and v.sequence > case when f.stop = 1 then f.newest else (
          select w.sequence from verdicts w where w.verdict = 'fix' and w.child_id = f.child_id and w.exercise_key = f.exercise_key and w.item_key = f.item_key
          order by w.sequence desc limit 1 offset ${STUCK_AFTER - 1}) end
        and case when f.stop = 1
          then v.verdict = 'in-place' and v.evidence_at <= v.judged_at and v.evidence_at > f.judged
          else v.verdict in ('in-place', 'not-part') and not exists (
            select 1 from setups u where u.child_id = f.child_id and u.exercise_key = f.exercise_key and u.sequence > 1 and u.sides_key <> v.sides_key) end
        and (v.answer_id is null or (
          a.version = 1 and a.taken_back_at is null and a.published_at <= ${now} and (s.void_reason is null or s.void_reason <> 'wrong-child')
          and not exists (select 1 from answers l where l.photo_set_id = a.photo_set_id and l.version > 1 and l.taken_back_at is null)))
    )`);
}

/** Items that any version of any exercise calls stop items: a verdict given before it did does not know. */
const stopItems = (practiceId: string): readonly string[] => [...new Set(
  exerciseKeys(practiceId).flatMap((key) => exerciseVersionsOf(practiceId, key)).flatMap(({ items }) => items.filter((item) => item.isStop).map((item) => item.key)),
)];
