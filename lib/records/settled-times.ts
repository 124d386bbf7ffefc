import "server-only";
import { and, asc, eq, gt, lte, min, ne } from "drizzle-orm";
import { database } from "@/db/client";
import { photoSets } from "@/db/schema/photos";
import { practices } from "@/db/schema/practice";
import { settledTimes, settledWeeks } from "@/db/schema/times";
import { areSettled, settledPart, type Quantiles, type SettledPart, type TimedAnswer } from "@/lib/domain/stats/answer-figures";
import { addDays, instantOf, localDate, mondayOf } from "@/lib/domain/time/local";
import type { CalendarHistory } from "@/lib/domain/time/working-week";
import { runEvery } from "@/lib/jobs/run-every";
import { timing } from "@/lib/records/answer-clock";
import { readAskedTimesIn } from "@/lib/records/back-question-reads";
import { readCalendar } from "@/lib/records/calendar";
import { keysBy, READS, type By } from "@/lib/records/figures-by";
import { grouped } from "@/lib/records/grouped";
import { sentSets, type SetRow, type Span } from "@/lib/records/timed-sets";

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
 * Settles every week that is over and not settled yet, one at a time. A week in which something is answered and not due yet, or
 * never, is left to the plain way.
 */
export async function settleWeeks(now: number): Promise<void> {
  for (const { practiceId } of database().select({ practiceId: practices.id }).from(practices).all()) {
    const { zone } = readCalendar(practiceId);
    for (const week of weeksToSettle(practiceId, zone, now)) {
      await settle(practiceId, zone, week, now);
      await othersTurn();
    }
  }
}

/** When a week was settled that is only being worked out: later than any reader's now. */
const UNFINISHED = Number.MAX_SAFE_INTEGER;

function weeksToSettle(practiceId: string, zone: string, now: number): readonly Span[] {
  const db = database();
  const first = db.select({ at: min(photoSets.sentAt) }).from(photoSets).where(gt(photoSets.sentAt, 0)).get()?.at ?? null;
  if (first === null) return [];
  const known = new Set(db.select({ from: settledWeeks.weekFrom }).from(settledWeeks).where(and(eq(settledWeeks.practiceId, practiceId), ne(settledWeeks.settledAt, UNFINISHED))).all().map(({ from }) => from));
  const weeks: Span[] = [];
  for (let monday = mondayOf(localDate(first, zone)); ; monday = addDays(monday, 7)) {
    const week = { from: instantOf(monday, 0, zone), until: instantOf(addDays(monday, 7), 0, zone) };
    if (week.until > now) return weeks;
    if (!known.has(week.from)) weeks.push(week);
  }
}

const MORE = [...new Set(Object.values(READS).flat())];
/** Rows of one statement, with all that they are told apart by, which is what costs. */
const ROWS = 250;

type Part = Pick<typeof settledTimes.$inferInsert, "by" | "key" | "minutes" | "inTime" | "quantiles">;

/**
 * Works one week out a few photo sets at a time; in between, whoever waits for the server gets a turn. Its row stands from the
 * beginning, as unfinished: whatever changes what was read takes it out like a settled week's, by the same triggers, and then there
 * is nothing to finish. A process that ends meanwhile leaves that row alone, which nobody reads and the next look replaces.
 */
async function settle(practiceId: string, zone: string, week: Span, now: number): Promise<void> {
  const db = database();
  const unfinished = and(eq(settledWeeks.practiceId, practiceId), eq(settledWeeks.weekFrom, week.from), eq(settledWeeks.settledAt, UNFINISHED));
  const calendar = db.transaction((tx) => {
    const held = readCalendar(practiceId);
    // Another zone since, and weeks would overlap.
    if (held.zone !== zone) return null;
    tx.delete(settledWeeks).where(unfinished).run();
    tx.insert(settledWeeks).values({ practiceId, weekFrom: week.from, weekUntil: week.until, settledAt: UNFINISHED }).run();
    return held;
  }, { behavior: "immediate" });
  const parts = calendar && await partsOf(practiceId, calendar, week, now);
  db.transaction((tx) => {
    if (!parts) tx.delete(settledWeeks).where(unfinished).run();
    else if (tx.update(settledWeeks).set({ settledAt: now }).where(unfinished).run().changes > 0) {
      for (const part of parts) tx.insert(settledTimes).values({ practiceId, weekFrom: week.from, ...part }).run();
    }
  }, { behavior: "immediate" });
}

/** Null where not all of the week is known for good. */
async function partsOf(practiceId: string, calendar: CalendarHistory, week: Span, now: number): Promise<readonly Part[] | null> {
  const sets: (SetRow & TimedAnswer)[] = [];
  // What is answered needs no clock behind the week; an answer long after it is worked out by itself.
  const timed = timing(calendar, readAskedTimesIn(week.from, week.until), week.until);
  for await (const rows of sentSets(practiceId, MORE, week, ROWS)) {
    const answered = rows.filter(({ answeredAt }) => answeredAt !== null).map((row) => ({ ...row, ...timed(row) }));
    if (!areSettled(answered, now)) return null;
    sets.push(...answered);
  }
  const parts: Part[] = [];
  for (const [by, keyOf] of Object.entries(keysBy(calendar.zone)) as [By, (set: SetRow) => string][]) { // its own keys
    await othersTurn();
    for (const [key, of] of grouped(sets, keyOf)) {
      const part = settledPart(of, now);
      if (part) parts.push({ by, key, minutes: packed(part.minutes), inTime: part.inTime, quantiles: JSON.stringify(part.quantiles) });
    }
  }
  return parts;
}

const othersTurn = () => new Promise(setImmediate);

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
