import "server-only";
import { and, desc, eq, isNull, sql, type SQL } from "drizzle-orm";
import type { AnySQLiteColumn } from "drizzle-orm/sqlite-core";
import { database } from "@/db/client";
import { OF_CHILD, prepared } from "@/db/prepared";
import { staffStops } from "@/db/schema/answers";
import { curveRecords, phaseOpenings, setups } from "@/db/schema/care";
import { symptomClearances, symptomReports } from "@/db/schema/photos";
import { practices } from "@/db/schema/practice";
import type { CurveRecord } from "@/lib/domain/curve/record";
import { StoredCurveRecord } from "@/lib/domain/curve/record.schema";
import type { SidesInForce } from "@/lib/domain/ledger/judged";
import type { CoveredResolution } from "@/lib/domain/setup/resolve";
import { resolve } from "@/lib/domain/setup/resolve";
import { StoredResolution } from "@/lib/domain/setup/exercise.schema";
import type { GoAheadFacts } from "@/lib/domain/setup/go-ahead-facts";
import { endOfLocalDay } from "@/lib/domain/time/local";
import { exerciseOf } from "@/lib/records/exercises";
import { readConsent } from "@/lib/records/consent-in-force";
import { inChunks } from "@/lib/records/in-chunks";
import { readOnce } from "@/lib/records/read-once";
import { readJudged, type Judged } from "@/lib/records/judged";

/**
 * One child of one family. A child grant is one; lists of a practice make theirs from rows that were
 * already filtered by the practice's grant. Nothing outside lib/records may call what takes it.
 */
export type ChildRef = { readonly childId: string; readonly familyId: string };

export type CurrentRecord = {
  readonly id: string;
  readonly record: CurveRecord;
  readonly reassessBy: string | null;
  readonly patternKey: string;
  readonly note: string;
  readonly recordedAt: number;
  readonly recordedBy: string;
};

export type CurrentSetup = {
  readonly id: string;
  /** Of the exercise it was confirmed from; a newer one waits for a therapist. */
  readonly exerciseVersion: number;
  readonly resolution: CoveredResolution;
  readonly kind: "rule" | "individual";
  readonly curveRecordId: string;
  readonly sides: SidesInForce;
  readonly apexSpot: string;
  readonly reason: string;
  readonly confirmedAt: number;
  readonly confirmedBy: string;
};

export type ChildFacts = {
  readonly facts: GoAheadFacts;
  readonly record: CurrentRecord | null;
  readonly setup: CurrentSetup | null;
  readonly judged: readonly Judged[];
};

const recordIn = readOnce((text): CurveRecord => StoredCurveRecord.parse(JSON.parse(text)));
const resolutionIn = readOnce((text): CoveredResolution => StoredResolution.parse(JSON.parse(text)));

type OfChild = { readonly childId: AnySQLiteColumn; readonly familyId: AnySQLiteColumn };

/** Rows of this child of this family; both, even where one would do. */
export const own = (table: OfChild, ref: ChildRef | typeof OF_CHILD): SQL | undefined =>
  and(eq(table.childId, ref.childId), eq(table.familyId, ref.familyId));

const EXERCISE = sql.placeholder("exerciseKey");
const practiceRow = prepared((db) => db.select({ zone: practices.timeZone, weeks: practices.photoWeeks }).from(practices).where(eq(practices.id, sql.placeholder("practiceId"))).prepare());
const newestRecord = prepared((db) => db.select().from(curveRecords).where(own(curveRecords, OF_CHILD)).orderBy(desc(curveRecords.sequence)).limit(1).prepare());
const setupsOfExercise = prepared((db) => db.select().from(setups).where(and(own(setups, OF_CHILD), eq(setups.exerciseKey, EXERCISE))).orderBy(desc(setups.sequence)).prepare());
const phasesOpened = prepared((db) => db.select({ phase: phaseOpenings.phase, openedAt: phaseOpenings.openedAt, openedBy: phaseOpenings.openedBy }).from(phaseOpenings)
  .where(and(own(phaseOpenings, OF_CHILD), eq(phaseOpenings.exerciseKey, EXERCISE), isNull(phaseOpenings.closedAt))).prepare());
const symptomStops = prepared((db) => db.select({
  id: symptomReports.id, tier: symptomReports.tier, reportedAt: symptomReports.reportedAt, clearedAt: symptomClearances.clearedAt,
}).from(symptomReports).leftJoin(symptomClearances, eq(symptomClearances.reportId, symptomReports.id)).where(own(symptomReports, OF_CHILD)).prepare());
const stopsByStaff = prepared((db) => db.select({
  id: staffStops.id, placedAt: staffStops.placedAt, placedBy: staffStops.placedBy, liftedAt: staffStops.liftedAt, exerciseKey: staffStops.exerciseKey,
}).from(staffStops).where(own(staffStops, OF_CHILD)).prepare());

/** Everything the go-ahead and the ledger of one child and exercise rest on, read afresh. */
export function readFacts(practiceId: string, ref: ChildRef, exerciseKey: string, now: number): ChildFacts {
  const { childId, familyId } = ref;
  const practice = practiceRow().get({ practiceId });
  if (!practice) throw new Error("the practice is missing");
  const record = readRecord(ref);
  const setup = readSetup(ref, exerciseKey);
  const judged = readJudged(ref, exerciseKey, now);
  const isIndividual = setup?.kind === "individual" && setup.curveRecordId === record?.id;
  const exercise = exerciseOf(practiceId, exerciseKey, setup?.exerciseVersion);
  const facts: GoAheadFacts = {
    exerciseKey,
    record: record && {
      id: record.id,
      reassessBy: record.reassessBy === null ? null : endOfLocalDay(record.reassessBy, practice.zone),
    },
    setup: setup && {
      confirmedAt: setup.confirmedAt,
      confirmedBy: setup.confirmedBy,
      recordId: setup.curveRecordId,
      coverage: setup.resolution.coverage,
      items: setup.resolution.items,
      phases: setup.resolution.phases,
      sides: setup.sides,
    },
    notCovered: record !== null && !isIndividual && resolve(exercise, record.record).coverage === "not-covered",
    phasesOpened: phasesOpened().all({ childId, familyId, exerciseKey }),
    verdicts: judged,
    symptomStops: symptomStops().all({ childId, familyId }),
    staffStops: stopsByStaff().all({ childId, familyId }),
    photoConsent: readPhotoConsent(ref, now),
    photoWeeks: practice.weeks,
  };
  return { facts, record, setup, judged };
}

/** The newest curve record is the current one. */
export function readRecord({ childId, familyId }: ChildRef): CurrentRecord | null {
  const row = newestRecord().get({ childId, familyId });
  if (!row) return null;
  return {
    id: row.id, record: recordIn(row.record), reassessBy: row.reassessBy,
    patternKey: row.patternKey, note: row.note, recordedAt: row.recordedAt, recordedBy: row.recordedBy,
  };
}

/** The newest confirmed set-up, and since when its sides have held without a break. */
export const readSetup = ({ childId, familyId }: ChildRef, exerciseKey: string): CurrentSetup | null =>
  setupFrom(setupsOfExercise().all({ childId, familyId, exerciseKey }));

/** The same from the rows of one child and exercise, the newest first. */
export function setupFrom(rows: readonly (typeof setups.$inferSelect)[]): CurrentSetup | null {
  const [newest] = rows;
  if (!newest) return null;
  const changed = rows.findIndex((row) => row.sidesKey !== newest.sidesKey);
  const first = rows.at(changed === -1 ? -1 : changed - 1) ?? newest;
  return {
    id: newest.id, exerciseVersion: newest.exerciseVersion, resolution: resolutionIn(newest.resolution), kind: newest.kind,
    curveRecordId: newest.curveRecordId, sides: { key: newest.sidesKey, since: first.confirmedAt },
    apexSpot: newest.apexSpot, reason: newest.reason, confirmedAt: newest.confirmedAt, confirmedBy: newest.confirmedBy,
  };
}

export const keyOf = ({ childId, exerciseKey }: { readonly childId: string; readonly exerciseKey: string }): string => `${childId} ${exerciseKey}`;

/** The set-up in force of each of these exercises of children, by `keyOf`. */
export function readSetupsOf(exercises: readonly { readonly childId: string; readonly exerciseKey: string }[]): ReadonlyMap<string, CurrentSetup> {
  const rows = inChunks([...new Map(exercises.map((each) => [keyOf(each), [each.childId, each.exerciseKey]])).values()], (some) => database().select().from(setups)
    .where(sql`(${setups.childId}, ${setups.exerciseKey}) in (select value ->> 0, value ->> 1 from json_each(${JSON.stringify(some)}))`).orderBy(desc(setups.sequence)).all());
  const by = new Map<string, (typeof rows)[number][]>();
  for (const row of rows) by.set(keyOf(row), [...(by.get(keyOf(row)) ?? []), row]);
  return new Map([...by].flatMap(([key, of]) => {
    const setup = setupFrom(of);
    return setup ? [[key, setup] as const] : [];
  }));
}

export const readPhotoConsent = (ref: ChildRef, now: number): GoAheadFacts["photoConsent"] => readConsent(ref, "photos", now)?.decision ?? "never";
