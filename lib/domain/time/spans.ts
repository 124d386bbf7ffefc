import { DAY_MS, MINUTE_MS, dateOf, wallOf, weekdayOf } from "@/lib/domain/time/local";
import type { CalendarHistory, ClockTime, Held, HoursVersion, OpenSpan, WorkingCalendar } from "@/lib/domain/time/working-week";
import { offsetStretches, type OffsetStretch } from "@/lib/domain/time/zone";

export type Hours = WorkingCalendar | CalendarHistory;

/** Half-open stretch of instants, UTC ms. */
export type Stretch = readonly [from: number, to: number];

/**
 * When the practice works within [from, to): stretches in order, never overlapping, touching ones
 * left apart. Working is what the wall clock says: a repeated hour counts twice, a skipped one
 * never, and of a span whose opening was skipped the rest still counts. When hours, zone, closures
 * or extra openings change, the old ones hold up to that instant and the new ones from it, even
 * within a span.
 */
export function* workingStretches(hours: Hours, from: number, to: number): Generator<Stretch> {
  if (!("versions" in hours)) {
    yield* ofCalendar(hours, from, to);
    return;
  }
  const changes = changesOf(hours);
  for (const [at, change] of changes.entries()) {
    const start = Math.max(from, change);
    const end = Math.min(to, changes[at + 1] ?? Infinity);
    const calendar = start < end ? calendarAt(hours, change) : null;
    if (calendar) yield* ofCalendar(calendar, start, end);
  }
}

/** The instants from which something else holds, in order; the first holds since ever. */
function changesOf({ versions, closures, openings }: CalendarHistory): readonly number[] {
  const dated = [...closures, ...openings].flatMap(({ from, until }) => (until === null ? [from] : [from, until]));
  const all = [...versions.map((version) => version.effectiveFrom), ...dated];
  return [-Infinity, ...new Set(all.sort((a, b) => a - b))];
}

function calendarAt(history: CalendarHistory, at: number): WorkingCalendar | null {
  const version = versionAt(history, at);
  const holds = ({ from, until }: Held<unknown>) => from <= at && (until === null || at < until);
  return version && {
    zone: version.zone, week: version.week,
    closures: history.closures.filter(holds).map(({ day }) => day), openings: history.openings.filter(holds),
  };
}

/** The version in force at an instant, or null for a history without any. */
export function versionAt(history: CalendarHistory, at: number): HoursVersion | null {
  const versions = inOrder(history);
  return versions.findLast((version) => version.effectiveFrom <= at) ?? versions[0] ?? null;
}

/** Minutes after midnight. Throws on anything but 00:00 to 24:00. */
export function minutesOf(time: ClockTime): number {
  const [, hours, minutes] = CLOCK.exec(time) ?? [];
  if (hours === undefined || minutes === undefined) throw new RangeError("A clock time is written HH:MM.");
  return Number(hours) * 60 + Number(minutes);
}

export const CLOCK = /^(?:(?=24:00)|(?!24))([01]\d|2[0-4]):([0-5]\d)$/;

const inOrder = ({ versions }: CalendarHistory) => [...versions].sort((a, b) => a.effectiveFrom - b.effectiveFrom);

function* ofCalendar(calendar: WorkingCalendar, from: number, to: number): Generator<Stretch> {
  const spansOn = spansByDay(calendar);
  for (const offsetStretch of offsetStretches(calendar.zone, from, to)) {
    const start = Math.max(from, offsetStretch.from);
    const end = Math.min(to, offsetStretch.to);
    if (start < end) yield* underOneOffset(spansOn, offsetStretch, start, end);
  }
}

function* underOneOffset(spansOn: (day: number) => readonly Stretch[], { offset }: OffsetStretch, from: number, to: number): Generator<Stretch> {
  // The day before too: its span may run past midnight into this one.
  let day = wallOf(dateOf(from + offset)) - DAY_MS;
  let done = from;
  for (; day - offset < to; day += DAY_MS) {
    for (const [opens, closes] of spansOn(day)) {
      const start = Math.max(done, day + opens - offset);
      const end = Math.min(to, day + closes - offset);
      if (start >= end) continue;
      yield [start, end];
      done = end;
    }
  }
}

/** Spans of a day, given by its midnight on the wall, as ms after it, by opening; later ones lose what an earlier one covers. */
function spansByDay({ week, closures, openings }: WorkingCalendar): (day: number) => readonly Stretch[] {
  const weekly = new Map(WEEKDAYS.map((weekday) => [weekday, inMs(week[weekday] ?? [])]));
  const closed = new Set(closures);
  const extra = new Map<string, readonly Stretch[]>();
  for (const { day, spans } of openings) extra.set(day, [...(extra.get(day) ?? []), ...inMs(spans)]);
  return (day) => {
    const date = dateOf(day);
    const regular = closed.has(date) ? [] : (weekly.get(weekdayOf(day)) ?? []);
    const more = extra.get(date);
    return more ? [...regular, ...more].sort(byOpening) : regular;
  };
}

const WEEKDAYS = [1, 2, 3, 4, 5, 6, 7] as const;
const byOpening = (a: Stretch, b: Stretch): number => a[0] - b[0];

const inMs = (spans: readonly OpenSpan[]): readonly Stretch[] => spans
  .map(([from, to]): Stretch => {
    const [opens, closes] = [minutesOf(from), minutesOf(to)];
    return [opens * MINUTE_MS, (closes > opens ? closes : closes + 1440) * MINUTE_MS];
  })
  .sort(byOpening);
