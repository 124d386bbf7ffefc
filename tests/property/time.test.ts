import * as fc from "fast-check";
import { expect, it } from "vitest";
import { endOfLocalDay, instantOf, localDate, localOf } from "@/lib/domain/time/local";
import { dueClock } from "@/lib/domain/answering/due-clock";
import { clockTable } from "@/lib/domain/time/clock-table";
import { expectation } from "@/lib/domain/time/expectation";
import { addWorkingMs, answerTimeMs, dueAt, nextOpening, workingMsBetween } from "@/lib/domain/time/working-time";
import type { CalendarHistory, ExtraOpening, Held, OpenSpan, Pause, Promised, WorkingCalendar, WorkingWeek } from "@/lib/domain/time/working-week";

const MINUTE = 60_000;

// Moments on which each zone's clock jumped (IANA tzdata), and one on which none did.
const moments: readonly (readonly [zone: string, around: string])[] = [
  ["America/New_York", "2025-03-09T07:00:00Z"],
  ["America/New_York", "2025-11-02T06:00:00Z"],
  ["Europe/London", "2025-10-26T01:00:00Z"],
  ["Australia/Lord_Howe", "2024-04-06T15:00:00Z"],
  ["Australia/Lord_Howe", "2024-10-05T15:30:00Z"],
  ["Pacific/Apia", "2011-12-30T10:00:00Z"],
  ["Africa/Casablanca", "2026-09-20T01:00:00Z"],
  ["America/Sao_Paulo", "2018-11-04T03:00:00Z"],
  ["Antarctica/Troll", "2024-03-31T01:00:00Z"],
  ["Asia/Kathmandu", "2026-01-01T00:00:00Z"],
];

const moment = fc.tuple(fc.constantFrom(...moments), fc.integer({ min: -4320, max: 4320 })).map(([[zone, around], minutes]) => ({
  zone,
  start: Date.parse(around) + minutes * MINUTE,
}));
const clock = (minutes: number) => `${String(Math.floor(minutes / 60)).padStart(2, "0")}:${String(minutes % 60).padStart(2, "0")}`;
const span: fc.Arbitrary<OpenSpan> = fc
  .tuple(fc.integer({ min: 0, max: 95 }), fc.integer({ min: 0, max: 96 }))
  .map(([from, to]) => [clock(from * 15), clock(to * 15)] as const);
const week: fc.Arbitrary<WorkingWeek> = fc
  .array(fc.array(span, { maxLength: 3 }), { minLength: 7, maxLength: 7 })
  .map((days) => Object.fromEntries(days.map((spans, at) => [String(at + 1), spans])));
const pauses = (start: number): fc.Arbitrary<Pause[]> =>
  fc.array(
    fc.tuple(fc.integer({ min: -500, max: 6000 }), fc.option(fc.integer({ min: 0, max: 3000 }), { nil: null, freq: 6 })).map(([from, length]) => ({
      from: start + from * MINUTE,
      until: length === null ? null : start + (from + length) * MINUTE,
    })),
    { maxLength: 3 },
  );
const scene = fc.tuple(
  moment, week, fc.array(fc.integer({ min: -3, max: 5 }), { maxLength: 2 }), fc.integer({ min: 0, max: 7200 }),
  fc.array(fc.tuple(fc.integer({ min: -2, max: 5 }), fc.array(span, { minLength: 1, maxLength: 2 })), { maxLength: 3 }),
).map(
  ([{ zone, start }, hours, closed, length, opened]) => {
    const dayAt = (days: number) => localDate(start + days * 1440 * MINUTE, zone);
    const openings: readonly ExtraOpening[] = opened.map(([days, spans]) => ({ day: dayAt(days), spans }));
    const calendar: WorkingCalendar = { zone, week: hours, closures: closed.map(dayAt), openings };
    return { calendar, start, end: start + length * MINUTE };
  },
);

/**
 * The written rule said again without intervals: for each minute, is what the wall clock shows within a span
 * that opened today, or yesterday and runs past midnight? A closure takes the week's spans of its date away,
 * and extra openings of the date come on top.
 */
function isWorkingMinute({ zone, week: hours, closures, openings }: WorkingCalendar, instant: number): boolean {
  const { hour, minute, weekday, year, month, day } = localOf(instant, zone);
  const now = hour * 60 + minute;
  const minutes = (time: string) => Number(time.slice(0, 2)) * 60 + Number(time.slice(3));
  const spansOn = (days: number): readonly OpenSpan[] => {
    const iso = new Date(Date.UTC(year, month - 1, day + days)).toISOString().slice(0, 10);
    const weekdayThen = ((weekday - 1 + days + 7) % 7) + 1;
    const weekly = closures.includes(iso) ? [] : (Object.entries(hours).find(([key]) => key === String(weekdayThen))?.[1] ?? []);
    return [...weekly, ...openings.flatMap((opening) => (opening.day === iso ? opening.spans : []))];
  };
  const pastMidnight = ([from, to]: OpenSpan) => minutes(to) <= minutes(from);
  return spansOn(0).some((each) => now >= minutes(each[0]) && (pastMidnight(each) || now < minutes(each[1])))
    || spansOn(-1).some((each) => pastMidnight(each) && now < minutes(each[1]));
}

it("counts what a minute-by-minute reading of the wall clock counts", () => {
  fc.assert(
    fc.property(scene, ({ calendar, start, end }) => {
      let minutes = 0;
      for (let instant = start; instant < end; instant += MINUTE) if (isWorkingMinute(calendar, instant)) minutes += 1;
      expect(workingMsBetween(calendar, start, end)).toBe(minutes * MINUTE);
    }),
    { numRuns: 150 },
  );
});

it("adds up: a stretch is the sum of its parts, and adding undoes counting", () => {
  fc.assert(
    fc.property(scene, fc.double({ min: 0, max: 1, noNaN: true }), ({ calendar, start, end }, share) => {
      const middle = Math.floor(start + share * (end - start));
      const whole = workingMsBetween(calendar, start, end);
      expect(workingMsBetween(calendar, start, middle) + workingMsBetween(calendar, middle, end)).toBe(whole);
      const reached = addWorkingMs(calendar, start, whole);
      expect(reached).not.toBeNull();
      expect(reached ?? Infinity).toBeLessThanOrEqual(end);
      expect(workingMsBetween(calendar, start, reached ?? end)).toBe(whole);
      // The earliest such instant: a millisecond sooner, less has passed.
      if (whole > 0) expect(workingMsBetween(calendar, start, (reached ?? end) - 1)).toBe(whole - 1);
    }),
    { numRuns: 300 },
  );
});

it("opens at the first minute that works", () => {
  fc.assert(
    fc.property(scene, ({ calendar, start }) => {
      const opening = nextOpening(calendar, start);
      if (opening === null) {
        expect(workingMsBetween(calendar, start, start + 30 * 1440 * MINUTE)).toBe(0);
        return;
      }
      expect(workingMsBetween(calendar, start, opening)).toBe(0);
      expect(isWorkingMinute(calendar, opening)).toBe(true);
    }),
    { numRuns: 300 },
  );
});

/** Hours, zone, closures and openings that change while something waits, some taken out again. */
const changing = scene.chain(({ calendar, start, end }) => fc.record({
  start: fc.constant(start), end: fc.constant(end),
  later: week, laterZone: fc.constantFrom(calendar.zone, ...moments.map(([zone]) => zone)),
  change: fc.integer({ min: -2000, max: 4000 }).map((minutes) => start + minutes * MINUTE),
  promised: fc.record({ "photo-set": fc.integer({ min: 1, max: 2400 }), question: fc.integer({ min: 1, max: 2400 }), symptom: fc.integer({ min: 1, max: 2400 }) }),
  kind: fc.constantFrom<Promised>("photo-set", "question", "symptom"),
  waits: pauses(start),
  held: fc.array(fc.tuple(fc.integer({ min: -3000, max: 4000 }), fc.option(fc.integer({ min: 0, max: 3000 }), { nil: null })), { minLength: 5, maxLength: 5 }),
}).map(({ held, promised, change, later, laterZone, ...made }) => {
  const at = (index: number) => {
    const [from, length] = held[index] ?? [0, null];
    return { from: start + from * MINUTE, until: length === null ? null : start + (from + length) * MINUTE };
  };
  const closures: readonly Held<{ readonly day: string }>[] = calendar.closures.map((day, index) => ({ day, ...at(index) }));
  const openings: readonly Held<ExtraOpening>[] = calendar.openings.map((opening, index) => ({ ...opening, ...at(2 + index) }));
  const inMs = (minutes: number) => minutes * MINUTE;
  const promiseMs = { "photo-set": inMs(promised["photo-set"]), question: inMs(promised.question), symptom: inMs(promised.symptom) };
  const doubled = { "photo-set": 2 * promiseMs["photo-set"], question: 2 * promiseMs.question, symptom: 2 * promiseMs.symptom };
  const history: CalendarHistory = {
    zone: laterZone, closures, openings,
    versions: [
      { effectiveFrom: start - 90 * 1440 * MINUTE, zone: calendar.zone, week: calendar.week, promiseMs },
      { effectiveFrom: change, zone: laterZone, week: later, promiseMs: doubled },
    ],
  };
  const holds = (instant: number) => ({ from, until }: Held<unknown>) => from <= instant && (until === null || instant < until);
  const calendarAt = (instant: number): WorkingCalendar => ({
    ...(instant >= change ? { zone: laterZone, week: later } : { zone: calendar.zone, week: calendar.week }),
    closures: closures.filter(holds(instant)).map(({ day }) => day), openings: openings.filter(holds(instant)),
  });
  return { ...made, history, calendarAt, promiseMs: (kind: Promised) => (start >= change ? doubled : promiseMs)[kind] };
}));

it("answer time is never negative, never shrinks, and due is when the promise of its kind is spent", () => {
  fc.assert(
    fc.property(changing, ({ history, calendarAt, promiseMs, kind, start, end, waits }) => {
      const answered = answerTimeMs(history, start, end, waits);
      expect(answered).toBeGreaterThanOrEqual(0);
      expect(answered).toBeLessThanOrEqual(workingMsBetween(history, start, end));
      expect(answerTimeMs(history, end, start, waits)).toBe(0);
      expect(answerTimeMs(history, start, end + 600 * MINUTE, waits)).toBeGreaterThanOrEqual(answered);
      let minutes = 0;
      for (let instant = start; instant < end; instant += MINUTE) {
        const waiting = waits.some(({ from, until }) => instant >= from && instant < (until ?? Infinity));
        if (!waiting && isWorkingMinute(calendarAt(instant), instant)) minutes += 1;
      }
      expect(answered).toBe(minutes * MINUTE);
      const due = dueAt(history, kind, start, waits);
      if (due !== null) {
        expect(answerTimeMs(history, start, due, waits)).toBe(promiseMs(kind));
        expect(answerTimeMs(history, start, due - 1, waits)).toBe(promiseMs(kind) - 1);
      } else if (waits.some(({ until }) => until === null)) {
        // It stands still for good before the promise is spent.
        expect(answerTimeMs(history, start, start + 60 * 1440 * MINUTE, waits)).toBeLessThan(promiseMs(kind));
      }
    }),
    { numRuns: 150 },
  );
});

it("what is left is the promise less the minutes that counted, and nothing is overdue while the practice waits on the family", () => {
  fc.assert(
    fc.property(changing, ({ history, calendarAt, promiseMs, kind, start, end, waits: all }) => {
      // Nobody waits before something arrived, and what is still to come is not known at `end`.
      const waits = all.filter(({ from }) => from >= start && from <= end).map(({ from, until }) => ({ from, until: until !== null && until <= end ? until : null }));
      const isWaiting = waits.some(({ until }) => until === null);
      let counted = 0;
      for (let instant = start; instant < end; instant += MINUTE) {
        const isPaused = waits.some(({ from, until }) => instant >= from && instant < (until ?? Infinity));
        if (!isPaused && isWorkingMinute(calendarAt(instant), instant)) counted += MINUTE;
      }
      const stands = dueClock(history, kind, start, end, waits);
      if (isWaiting) {
        expect(stands).toMatchObject({ dueAt: null, isOverdue: false, leftMs: Math.max(0, promiseMs(kind) - counted) });
        expect(expectation(history, kind, start, end, waits)).toEqual({ is: "paused" });
      } else if (stands.dueAt !== null) {
        expect(stands.leftMs).toBe(Math.abs(promiseMs(kind) - counted));
        expect(stands.isOverdue && counted < promiseMs(kind)).toBe(false);
      }
    }),
    { numRuns: 60 },
  );
});

it("a table of the clock says what the clock says, inside its stretch and outside", () => {
  fc.assert(
    fc.property(changing, fc.integer({ min: -6000, max: 6000 }), fc.integer({ min: -200, max: 20_000 }), ({ history, kind, start, end, waits }, shift, length) => {
      const from = start + shift * MINUTE;
      const table = clockTable(history, from, from + length * MINUTE);
      expect(table.answerTimeMs(start, end)).toBe(answerTimeMs(history, start, end));
      expect(table.dueAt(kind, start)).toBe(dueAt(history, kind, start));
      expect(table.answerTimeMs(start, end, waits)).toBe(answerTimeMs(history, start, end, waits));
      expect(table.dueAt(kind, start, waits)).toBe(dueAt(history, kind, start, waits));
    }),
    { numRuns: 300 },
  );
});

it("goes from instant to wall clock and back, but for the second of two like readings", () => {
  fc.assert(
    fc.property(moment, ({ zone, start }) => {
      const local = localOf(start, zone);
      const back = instantOf(localDate(start, zone), local.hour * 60 + local.minute, zone);
      expect(back).toBeLessThanOrEqual(start);
      expect(localOf(back, zone)).toMatchObject({ hour: local.hour, minute: local.minute, day: local.day });
      const end = endOfLocalDay(localDate(start, zone), zone);
      expect(end).toBeGreaterThan(start);
      expect(localDate(end - 1, zone)).toBe(localDate(start, zone));
      expect(localDate(end, zone) > localDate(start, zone)).toBe(true);
    }),
    { numRuns: 500 },
  );
});
