import "server-only";
import { and, asc, eq, isNull, sql, type SQL } from "drizzle-orm";
import type { AnySQLiteColumn } from "drizzle-orm/sqlite-core";
import { among, prepared } from "@/db/prepared";
import { answers, readBacks, staffStops } from "@/db/schema/answers";
import { curveRecords, families } from "@/db/schema/care";
import { symptomClearances, symptomReports } from "@/db/schema/photos";
import { askedReadBacks, unreadBy, type ReadBackFacts } from "@/lib/domain/answering/read-back";
import { groupByItem, standing } from "@/lib/domain/ledger/standing";
import { readCarersOf } from "@/lib/records/carers";
import { keyOf, type CurrentSetup } from "@/lib/records/child-facts";
import { inChunks } from "@/lib/records/in-chunks";
import type { JudgedRow } from "@/lib/records/judged";

/** What is open for one child: symptoms, stops that staff placed, and those of its answers. */
type OpenStops = {
  readonly symptoms: { readonly id: string; readonly tier: "urgent" | "today"; readonly at: number }[];
  readonly placed: { readonly id: string; readonly exerciseKey: string | null; readonly by: string; readonly at: number }[];
  /** By exercise, the verdicts of the items that hold one. */
  readonly judged: Map<string, JudgedRow[]>;
};

const OF_PRACTICE = eq(families.practiceId, sql.placeholder("practiceId"));
/** What is open for children of the practice, one statement for them all and one for some of them. */
const openStopsOf = (which: (column: AnySQLiteColumn) => SQL | undefined) => ({
  symptoms: prepared((db) => db.select({ childId: symptomReports.childId, id: symptomReports.id, tier: symptomReports.tier, at: symptomReports.reportedAt })
    .from(symptomReports).innerJoin(families, eq(families.id, symptomReports.familyId)).leftJoin(symptomClearances, eq(symptomClearances.reportId, symptomReports.id))
    .where(and(OF_PRACTICE, isNull(symptomClearances.id), which(symptomReports.childId))).prepare()),
  placed: prepared((db) => db.select({ childId: staffStops.childId, id: staffStops.id, exerciseKey: staffStops.exerciseKey, by: staffStops.placedBy, at: staffStops.placedAt })
    .from(staffStops).innerJoin(families, eq(families.id, staffStops.familyId))
    .where(and(OF_PRACTICE, isNull(staffStops.liftedAt), which(staffStops.childId))).prepare()),
});
const [OF_ALL, OF_SOME] = [openStopsOf(() => undefined), openStopsOf((column) => among(column, "childIds"))];

/** Every child of the practice, or of some of its children, with an open stop; `openItems` is every item that may hold one, an exercise of a child each. */
export function readOpenStops(practiceId: string, openItems: Iterable<readonly JudgedRow[]>, childIds: readonly string[] | null = null): ReadonlyMap<string, OpenStops> {
  const { symptoms, placed } = childIds === null ? OF_ALL : OF_SOME;
  const asked = { practiceId, childIds: JSON.stringify(childIds) };
  const open = new Map<string, OpenStops>();
  const of = (childId: string): OpenStops => {
    const known = open.get(childId) ?? { symptoms: [], placed: [], judged: new Map() };
    open.set(childId, known);
    return known;
  };
  for (const { childId, ...report } of symptoms().all(asked)) of(childId).symptoms.push(report);
  for (const { childId, ...stop } of placed().all(asked)) of(childId).placed.push(stop);
  for (const rows of openItems) {
    const stopped = [...groupByItem(rows).values()].filter((each) => standing(each, { isStop: false, sideDependent: true }, null).openStop?.answerId).flat();
    const [first] = stopped;
    if (first) of(first.childId).judged.set(first.exerciseKey, stopped);
  }
  return open;
}

/** The exercises that any of these stops is about. */
export const exercisesIn = (open: ReadonlyMap<string, OpenStops>): readonly { readonly childId: string; readonly exerciseKey: string }[] =>
  [...open].flatMap(([childId, stops]) => [...keysIn(stops)].map((exerciseKey) => ({ childId, exerciseKey })));

const keysIn = ({ judged, placed }: OpenStops): ReadonlySet<string> => new Set([...judged.keys(), ...placed.flatMap(({ exerciseKey }) => exerciseKey ?? [])]);

const recordsOf = prepared((db) => db.select({ childId: curveRecords.childId, id: curveRecords.id }).from(curveRecords)
  .where(among(curveRecords.childId, "childIds")).orderBy(asc(curveRecords.sequence)).prepare());
const answeredRightly = prepared((db) => db.select({ childId: readBacks.childId, personId: readBacks.personId, stopId: readBacks.stopId, question: readBacks.question })
  .from(readBacks).where(and(among(readBacks.childId, "childIds"), eq(readBacks.isRight, true))).prepare());
const publishedAt = prepared((db) => db.select({ id: answers.id, at: answers.publishedAt }).from(answers).where(among(answers.id, "ids")).prepare());

/** Since when the oldest stop of each child that nobody who practises has read back could be read; children without one are left out. */
export function readUnreadSince(
  open: ReadonlyMap<string, OpenStops>,
  setups: ReadonlyMap<string, CurrentSetup>,
  now: number,
): ReadonlyMap<string, number> {
  const childIds = [...open.keys()];
  const recordOf = new Map(inChunks(childIds, (some) => recordsOf().all({ childIds: JSON.stringify(some) })).map(({ childId, id }) => [childId, id]));
  const right = rightByChild(childIds, now);
  const published = readPublished([...open.values()].flatMap(({ judged }) => [...judged.values()].flat()));
  const since = new Map<string, number>();
  for (const [childId, stops] of open) {
    const began = new Map([...stops.symptoms, ...stops.placed].map(({ id, at }) => [id, at]));
    const asked = askedReadBacks(factsOf(childId, stops, setups, recordOf.get(childId) ?? null));
    const unread = unreadBy(asked, right.get(childId) ?? []).map(({ stopId }) => began.get(stopId) ?? published.get(stopId) ?? now);
    if (unread.length > 0) since.set(childId, Math.min(...unread));
  }
  return since;
}

/** A stop of everything is asked about with any exercise; one without a set-up or verdicts has only such. */
function factsOf(childId: string, stops: OpenStops, setups: ReadonlyMap<string, CurrentSetup>, recordId: string | null): readonly ReadBackFacts[] {
  const { symptoms, placed, judged } = stops;
  const keys = keysIn(stops);
  return [...(keys.size > 0 ? keys : [""])].map((exerciseKey) => {
    const setup = setups.get(keyOf({ childId, exerciseKey })) ?? null;
    return {
      facts: {
        exerciseKey, record: recordId === null ? null : { id: recordId }, setup: setup && { recordId: setup.curveRecordId, sides: setup.sides },
        symptomStops: symptoms.map(({ id, tier, at }) => ({ id, tier, reportedAt: at, clearedAt: null })),
        staffStops: placed.map((stop) => ({ id: stop.id, placedAt: stop.at, placedBy: stop.by, liftedAt: null, exerciseKey: stop.exerciseKey })),
      },
      judged: judged.get(exerciseKey) ?? [], sides: setup?.resolution.setup ?? null,
    };
  });
}

type RightAnswer = { readonly stopId: string; readonly question: string };

/** What those who care for each child today answered rightly. */
function rightByChild(childIds: readonly string[], now: number): ReadonlyMap<string, readonly RightAnswer[]> {
  const carers = new Map(inChunks(childIds, (some) => [...readCarersOf(some, now)]));
  const by = new Map<string, RightAnswer[]>();
  const rows = inChunks(childIds, (some) => answeredRightly().all({ childIds: JSON.stringify(some) }));
  for (const { childId, personId, ...answer } of rows) {
    if (carers.get(childId)?.includes(personId)) by.set(childId, [...(by.get(childId) ?? []), answer]);
  }
  return by;
}

/** When each of the answers behind these verdicts could be read. */
const readPublished = (judged: readonly JudgedRow[]): ReadonlyMap<string, number> =>
  new Map(inChunks([...new Set(judged.flatMap(({ answerId }) => answerId ?? []))], (some) => publishedAt().all({ ids: JSON.stringify(some) })).map(({ id, at }) => [id, at]));
