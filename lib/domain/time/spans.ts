import { DAY_MS, MINUTE_MS, dateOf, wallOf, weekdayOf } from "@/lib/domain/time/local";
import type { CalendarHistory, ClockTime, HoursVersion, OpenSpan, WorkingCalendar } from "@/lib/domain/time/working-week";
import { offsetStretches, type OffsetStretch } from "@/lib/domain/time/zone";

export type Hours = WorkingCalendar | CalendarHistory;

/** Half-open stretch of instants, UTC ms. */
export type Stretch = readonly [from: number, to: number];

/**
 * When the practice works within [from, to): stretches in order, never overlapping, touching ones
 * left apart. Working is what the wall clock says: a repeated hour counts twice, a skipped one
 * never, and of a span whose opening was skipped the rest still counts. When hours change, the old
 * ones hold up to that instant and the new ones from it, even within a span.
 */
export function* workingStretches(hours: Hours, from: number, to: number): Generator<Stretch> {
  if (!("versions" in hours)) {
    yield* ofCalendar(hours, from, to);
    return;
  }
  const versions = inOrder(hours);
  for (const [at, version] of versions.entries()) {
    const start = at === 0 ? from : Math.max(from, version.effectiveFrom);
    const end = Math.min(to, versions[at + 1]?.effectiveFrom ?? Infinity);
    if (start < end) yield* ofCalendar({ zone: hours.zone, closures: hours.closures, week: version.week }, start, end);
  }
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
  const closed = new Set(calendar.closures);
  for (const offsetStretch of offsetStretches(calendar.zone, from, to)) {
    const start = Math.max(from, offsetStretch.from);
    const end = Math.min(to, offsetStretch.to);
    if (start < end) yield* underOneOffset(calendar, closed, offsetStretch, start, end);
  }
}

function* underOneOffset(
  { week }: WorkingCalendar,
  closed: ReadonlySet<string>,
  { offset }: OffsetStretch,
  from: number,
  to: number,
): Generator<Stretch> {
  // The day before too: its span may run past midnight into this one.
  let day = wallOf(dateOf(from + offset)) - DAY_MS;
  let done = from;
  for (; day - offset < to; day += DAY_MS) {
    if (closed.has(dateOf(day))) continue;
    for (const [opens, closes] of openings(week[weekdayOf(day)])) {
      const start = Math.max(done, day + opens - offset);
      const end = Math.min(to, day + closes - offset);
      if (start >= end) continue;
      yield [start, end];
      done = end;
    }
  }
}

/** Spans of a day as ms after its midnight, by opening; later ones lose what an earlier one covers. */
function openings(spans: readonly OpenSpan[] = []): readonly Stretch[] {
  return spans
    .map(([from, to]): Stretch => {
      const [opens, closes] = [minutesOf(from), minutesOf(to)];
      return [opens * MINUTE_MS, (closes > opens ? closes : closes + 1440) * MINUTE_MS];
    })
    .sort((a, b) => a[0] - b[0]);
}
