import "server-only";
import { and, asc, eq, gt, lte, min } from "drizzle-orm";
import { database } from "@/db/client";
import { photoSets } from "@/db/schema/photos";
import { practices } from "@/db/schema/practice";
import { settledTimes, settledWeeks } from "@/db/schema/times";
import { settledPart, type Quantiles, type SettledPart } from "@/lib/domain/stats/answer-figures";
import { addDays, instantOf, localDate, mondayOf } from "@/lib/domain/time/local";
import type { CalendarHistory } from "@/lib/domain/time/working-week";
import { runEvery } from "@/lib/jobs/run-every";
import { timing } from "@/lib/records/answer-clock";
import { readAskedTimesIn } from "@/lib/records/back-question-reads";
import { readCalendar } from "@/lib/records/calendar";
import { keysBy, READS, type By } from "@/lib/records/figures-by";
import { grouped } from "@/lib/records/grouped";
import { setsSent, type Span } from "@/lib/records/timed-sets";

export type Settled = {
  /** The weeks, in order. */
  readonly weeks: readonly Span[];
  /** What is left: sent in none of them. */
  readonly gaps: readonly Span[];
  readonly parts: readonly (SettledPart & { readonly key: string })[];
};

/** The answer times that are known for good, told apart by one thing. For lib/records alone: the caller has the grant. */
export function readSettled(practiceId: string, by: By, now: number): Settled {
  const known = and(eq(settledWeeks.practiceId, practiceId), lte(settledWeeks.settledAt, now));
  return database().transaction((tx) => {
    const weeks = tx.select({ from: settledWeeks.weekFrom, until: settledWeeks.weekUntil }).from(settledWeeks).where(known).orderBy(asc(settledWeeks.weekFrom)).all();
    const rows = tx.select({ key: settledTimes.key, minutes: settledTimes.minutes, inTime: settledTimes.inTime, quantiles: settledTimes.quantiles }).from(settledTimes)
      .innerJoin(settledWeeks, and(eq(settledWeeks.practiceId, settledTimes.practiceId), eq(settledWeeks.weekFrom, settledTimes.weekFrom)))
      .where(and(known, eq(settledTimes.practiceId, practiceId), eq(settledTimes.by, by))).orderBy(asc(settledTimes.weekFrom)).all();
    return {
      weeks, gaps: gapsIn(weeks),
      parts: rows.map(({ minutes, quantiles, ...row }) => ({ ...row, minutes: unpacked(minutes), quantiles: JSON.parse(quantiles) as Quantiles })), // our own, written below
    };
  });
}

function gapsIn(weeks: readonly Span[]): readonly Span[] {
  const gaps: Span[] = [];
  let from = 0;
  for (const week of weeks) {
    if (week.from > from) gaps.push({ from, until: week.from });
    from = week.until;
  }
  return [...gaps, { from, until: Number.MAX_SAFE_INTEGER }];
}

/**
 * Settles every week that is over and not settled yet, one at a time, each in a transaction of its own: what is read cannot
 * change before it is written. A week in which something is answered and not due yet, or never, is left to the plain way.
 */
export async function settleWeeks(now: number): Promise<void> {
  for (const { practiceId } of database().select({ practiceId: practices.id }).from(practices).all()) {
    const calendar = readCalendar(practiceId);
    for (const week of weeksToSettle(practiceId, calendar, now)) {
      database().transaction(() => settle(practiceId, calendar, week, now), { behavior: "immediate" });
      await new Promise(setImmediate);
    }
  }
}

function weeksToSettle(practiceId: string, { zone }: CalendarHistory, now: number): readonly Span[] {
  const db = database();
  const first = db.select({ at: min(photoSets.sentAt) }).from(photoSets).where(gt(photoSets.sentAt, 0)).get()?.at ?? null;
  if (first === null) return [];
  const known = new Set(db.select({ from: settledWeeks.weekFrom }).from(settledWeeks).where(eq(settledWeeks.practiceId, practiceId)).all().map(({ from }) => from));
  const weeks: Span[] = [];
  for (let monday = mondayOf(localDate(first, zone)); ; monday = addDays(monday, 7)) {
    const week = { from: instantOf(monday, 0, zone), until: instantOf(addDays(monday, 7), 0, zone) };
    if (week.until > now) return weeks;
    if (!known.has(week.from)) weeks.push(week);
  }
}

const MORE = [...new Set(Object.values(READS).flat())];

function settle(practiceId: string, calendar: CalendarHistory, week: Span, now: number): void {
  const db = database();
  // Another zone since, and weeks would overlap.
  if (readCalendar(practiceId).zone !== calendar.zone) return;
  const timed = timing(calendar, readAskedTimesIn(week.from, week.until), now);
  const rows = setsSent(practiceId, MORE, week).filter(({ answeredAt }) => answeredAt !== null).map((row) => ({ ...row, ...timed(row) }));
  if (!settledPart(rows, now)) return;
  db.insert(settledWeeks).values({ practiceId, weekFrom: week.from, weekUntil: week.until, settledAt: now }).run();
  for (const [by, keyOf] of Object.entries(keysBy(calendar.zone)) as [By, (row: (typeof rows)[number]) => string][]) { // its own keys
    for (const [key, of] of grouped(rows, keyOf)) {
      const part = settledPart(of, now);
      if (part) db.insert(settledTimes).values({ practiceId, weekFrom: week.from, by, key, minutes: packed(part.minutes), inTime: part.inTime, quantiles: JSON.stringify(part.quantiles) }).run();
    }
  }
}

const BYTES = 4;

const packed = (minutes: ArrayLike<number>): Buffer => Buffer.from(Int32Array.from(minutes).buffer);

/** Lowest byte first on every machine the app runs on, but rarely where numbers may begin in memory. */
function unpacked(bytes: Buffer): Int32Array {
  const minutes = new Int32Array(bytes.length / BYTES);
  new Uint8Array(minutes.buffer).set(bytes);
  return minutes;
}

const LOOK_MS = 3_600_000;
/** Looks every hour. */
export const startSettling = () => runEvery("settling", LOOK_MS, settleWeeks);
