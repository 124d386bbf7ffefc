import "server-only";
import { and, eq, inArray, sql } from "drizzle-orm";
import { database } from "@/db/client";
import { among, OF_CHILD, prepared } from "@/db/prepared";
import { answers, readBacks, staffStops } from "@/db/schema/answers";
import { children, families } from "@/db/schema/care";
import { symptomReports } from "@/db/schema/photos";
import { practices } from "@/db/schema/practice";
import type { ChildGrant, PracticeGrant } from "@/lib/access/grant";
import { unreadBy, type OpenReadBack } from "@/lib/domain/answering/read-back";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { localDate } from "@/lib/domain/time/local";
import { addNotice } from "@/lib/notices/add";
import { act } from "@/lib/records/act";
import { readCarers } from "@/lib/records/carers";
import { readStoppedItems } from "@/lib/records/caseload-items";
import { exercisesIn, readOpenStops, readUnreadSince } from "@/lib/records/caseload-stops";
import { own, readSetupsOf, type ChildRef } from "@/lib/records/child-facts";
import { inChunks } from "@/lib/records/in-chunks";
import { readOpenReadBacks } from "@/lib/records/read-backs";
import { remindedToday } from "@/lib/records/reminded-today";

const HOUR_MS = 3_600_000;

export type UnreadStop = {
  readonly stopId: string;
  readonly stopKind: OpenReadBack["stopKind"];
  /** Since when the family could read it, and for how long that is now, ms. */
  readonly since: number;
  readonly ageMs: number;
};

export type UnreadStopRow = ChildRef & {
  readonly childName: string;
  /** Oldest first. */
  readonly stops: readonly UnreadStop[];
  /** Who is asked; nobody when no one cares for the child here. */
  readonly carers: readonly string[];
  /** Every one of them was reminded today, or there is nobody to remind. */
  readonly isReminded: boolean;
};

/** The open stops of one child that nobody who practises has read back, whatever their age. */
export async function unreadStopsOf(grant: ChildGrant<"stop.remind">, now: number): Promise<UnreadStopRow> {
  return rowOf(grant.practiceId, grant, "", now);
}

/** Every child with a stop unread for longer than the practice lets it be, the longest first. */
export async function unreadStops(grant: PracticeGrant<"queue.read">, now: number): Promise<readonly UnreadStopRow[]> {
  // Every open stop of the practice is looked at: whoever waits for the server meanwhile gets a turn first.
  await new Promise(setImmediate);
  const after = readBackMs(grant.practiceId);
  const open = readOpenStops(grant.practiceId, readStoppedItems(grant.practiceId, now).values());
  const all = inChunks([...open.keys()], (some) => database().select({ childId: children.id, familyId: children.familyId, childName: children.givenName }).from(children)
    .innerJoin(families, eq(families.id, children.familyId)).where(and(eq(families.practiceId, grant.practiceId), inArray(children.id, some))).all());
  const since = readUnreadSince(open, readSetupsOf(exercisesIn(open)), now);
  // Most open stops were read back: whose were not is known for all at once, and only those are looked at one by one.
  return all.filter(({ childId }) => Math.max(0, now - (since.get(childId) ?? now)) >= after).map(({ childName, ...ref }) => rowOf(grant.practiceId, ref, childName, now))
    .map((row) => ({ ...row, stops: row.stops.filter((stop) => stop.ageMs >= after) }))
    .filter((row) => row.stops.length > 0)
    .toSorted((a, b) => (a.stops[0]?.since ?? 0) - (b.stops[0]?.since ?? 0) || a.childId.localeCompare(b.childId));
}

/**
 * One mail to each carer who still has a stop to read, at most one a day and person, on the practice's day.
 * Refused: `stale-version` when nothing is unread any more, `reminded-today` when nobody is left to mail.
 */
export async function remindOfStops(grant: ChildGrant<"stop.remind">, now: number): Promise<Result<null>> {
  return act(grant, "stop.reminded", now, (tx) => {
    const { stops } = rowOf(grant.practiceId, grant, "", now);
    const [first] = stops;
    if (!first) return refuse("stale-version");
    const before = remindedToday(grant.practiceId, ["stop-reminder"], now);
    const due = readCarers(grant, now).filter(({ personId }) => !before.has(personId));
    if (due.length === 0) return refuse("reminded-today");
    for (const { personId } of due) {
      addNotice(tx, { kind: "stop-reminder", personId, dedupeKey: reminderKey(personId, today(grant.practiceId, now)), now });
    }
    return ok({ objectId: first.stopId, value: null });
  });
}

/** Ids of answers, staff stops and symptoms of one child that nobody has read back. For lib/records alone. */
export const unreadStopIds = (practiceId: string, ref: ChildRef, now: number): ReadonlySet<string> =>
  new Set(unreadOf(practiceId, ref, readCarers(ref, now).map((carer) => carer.personId), now).map(({ stopId }) => stopId));

function rowOf(practiceId: string, ref: ChildRef, childName: string, now: number): UnreadStopRow {
  const carers = readCarers(ref, now);
  const stops = unreadOf(practiceId, ref, carers.map((carer) => carer.personId), now);
  const before = remindedToday(practiceId, ["stop-reminder"], now);
  return { ...ref, childName, stops, carers: carers.map((carer) => carer.name), isReminded: carers.every((carer) => before.has(carer.personId)) };
}

const readRightly = prepared((db) => db.select({ stopId: readBacks.stopId, question: readBacks.question }).from(readBacks)
  .where(and(own(readBacks, OF_CHILD), eq(readBacks.isRight, true), among(readBacks.personId, "carers"))).prepare());

/** Asked of nobody in particular: what is open to a person who never answered, less what any carer answered rightly. */
function unreadOf(practiceId: string, ref: ChildRef, carers: readonly string[], now: number): readonly UnreadStop[] {
  const asked = readOpenReadBacks(practiceId, ref, NOBODY, now);
  if (asked.length === 0) return [];
  const { childId, familyId } = ref;
  const read = readRightly().all({ childId, familyId, carers: JSON.stringify(carers) });
  const stops = new Map(unreadBy(asked, read).map(({ stopId, stopKind }) => [stopId, stopKind]));
  return [...stops].map(([stopId, stopKind]) => {
    const since = sinceOf(ref, stopKind, stopId);
    return { stopId, stopKind, since, ageMs: Math.max(0, now - since) };
  }).sort((a, b) => a.since - b.since || a.stopId.localeCompare(b.stopId));
}

/** No person has this id. */
const NOBODY = "";

const ID = sql.placeholder("id");
const SINCE = {
  answer: prepared((db) => db.select({ at: answers.publishedAt }).from(answers).where(and(own(answers, OF_CHILD), eq(answers.id, ID))).prepare()),
  "staff-stop": prepared((db) => db.select({ at: staffStops.placedAt }).from(staffStops).where(and(own(staffStops, OF_CHILD), eq(staffStops.id, ID))).prepare()),
  symptom: prepared((db) => db.select({ at: symptomReports.reportedAt }).from(symptomReports).where(and(own(symptomReports, OF_CHILD), eq(symptomReports.id, ID))).prepare()),
} as const satisfies Record<UnreadStop["stopKind"], unknown>;

function sinceOf({ childId, familyId }: ChildRef, kind: UnreadStop["stopKind"], id: string): number {
  const row = SINCE[kind]().get({ childId, familyId, id });
  if (!row) throw new Error("a stop has no row");
  return row.at;
}

const reminderKey = (personId: string, day: string): string => `stop-reminder:${personId}:${day}`;

const zoneAndHours = prepared((db) => db.select({ zone: practices.timeZone, hours: practices.readBackHours }).from(practices).where(eq(practices.id, sql.placeholder("practiceId"))).prepare());

const readPractice = (practiceId: string) => {
  const row = zoneAndHours().get({ practiceId });
  if (!row) throw new Error("the practice is missing");
  return row;
};
const today = (practiceId: string, now: number): string => localDate(now, readPractice(practiceId).zone);
const readBackMs = (practiceId: string): number => readPractice(practiceId).hours * HOUR_MS;
