import type { LocalDate } from "@/lib/domain/time/working-week";
import { offsetAt, offsetStretches } from "@/lib/domain/time/zone";

/** What the wall clock and the calendar on the wall say. Months 1..12, weekdays ISO: 1 Monday to 7 Sunday. */
export type Local = {
  readonly year: number;
  readonly month: number;
  readonly day: number;
  readonly weekday: 1 | 2 | 3 | 4 | 5 | 6 | 7;
  readonly hour: number;
  readonly minute: number;
  readonly second: number;
  readonly millisecond: number;
  /** Minutes that the local clock is ahead of UTC. */
  readonly offsetMinutes: number;
};

export const MINUTE_MS = 60_000;
export const DAY_MS = 86_400_000;

/** The local clock and calendar at an instant (UTC ms). Throws on an unknown zone. */
export function localOf(instant: number, zone: string): Local {
  const offset = offsetAt(instant, zone);
  const wall = new Date(instant + offset);
  return {
    year: wall.getUTCFullYear(),
    month: wall.getUTCMonth() + 1,
    day: wall.getUTCDate(),
    weekday: weekdayOf(instant + offset),
    hour: wall.getUTCHours(),
    minute: wall.getUTCMinutes(),
    second: wall.getUTCSeconds(),
    millisecond: wall.getUTCMilliseconds(),
    offsetMinutes: offset / MINUTE_MS,
  };
}

/**
 * The instant (UTC ms) at which a local clock shows `minutes` after midnight of a date. Of a
 * repeated hour the first; in a skipped one as far after the jump as it was asked past its start
 * (RFC 5545, 3.3.5, reads both so). Throws on no date and on an unknown zone.
 */
export function instantOf(date: LocalDate, minutes: number, zone: string): number {
  const wall = wallOf(date) + minutes * MINUTE_MS;
  // No offset is as much as two days: the date line jumps a single one.
  const near = offsetStretches(zone, wall - 2 * DAY_MS, wall + 2 * DAY_MS);
  for (const stretch of near) {
    const instant = wall - stretch.offset;
    if (instant >= stretch.from && instant < stretch.to) return instant;
  }
  // Skipped: read it by the offset that held before the jump.
  for (const stretch of near) if (wall - stretch.offset >= stretch.to && wall < stretch.to + nextOffset(near, stretch.to)) return wall - stretch.offset;
  throw new RangeError("No such local time.");
}

/** The local date at an instant (UTC ms). */
export const localDate = (instant: number, zone: string): LocalDate => dateOf(instant + offsetAt(instant, zone));

/**
 * The instant (UTC ms) at which a local date is over for good: the first after its last. Exact
 * when midnight is skipped or repeated; for a date a zone never had, the jump over it.
 */
export function endOfLocalDay(date: LocalDate, zone: string): number {
  const midnight = wallOf(date) + DAY_MS;
  let end = -Infinity;
  for (const stretch of offsetStretches(zone, midnight - 3 * DAY_MS, midnight + 3 * DAY_MS)) {
    const last = Math.min(stretch.to, midnight - stretch.offset);
    if (last > stretch.from) end = Math.max(end, last);
  }
  return end;
}

/** A calendar sum without any zone. Throws on no date. */
export const addDays = (date: LocalDate, days: number): LocalDate => dateOf(wallOf(date) + days * DAY_MS);

/** The same day so many months on, or the last of a shorter month. */
export function addMonths(date: LocalDate, months: number): LocalDate {
  const [year = 0, month = 0, day = 0] = date.split("-").map(Number);
  const lastDay = new Date(Date.UTC(year, month + months, 0)).getUTCDate();
  return dateOf(Date.UTC(year, month - 1 + months, Math.min(day, lastDay)));
}

/** How many days the second date lies after the first; below 0 when before. Throws on no date. */
export const daysBetween = (from: LocalDate, to: LocalDate): number => (wallOf(to) - wallOf(from)) / DAY_MS;

/** A real day of the calendar, "YYYY-MM-DD": the 30th of February is none. */
export function isLocalDate(text: string): boolean {
  const parts = DATE.exec(text);
  return parts !== null && dateOf(Date.UTC(Number(parts[1]), Number(parts[2]) - 1, Number(parts[3]))) === text;
}

/** Midnight of a date as a wall reading: the ms a clock without a zone would show. Throws on no date. */
export function wallOf(date: LocalDate): number {
  if (!isLocalDate(date)) throw new RangeError("A local date is written YYYY-MM-DD.");
  return Date.UTC(Number(date.slice(0, 4)), Number(date.slice(5, 7)) - 1, Number(date.slice(8, 10)));
}

export const dateOf = (wall: number): LocalDate => new Date(wall).toISOString().slice(0, 10);

/** The Monday of its week. */
export const mondayOf = (date: LocalDate): LocalDate => addDays(date, 1 - weekdayOf(wallOf(date)));

/** ISO weekday of a wall reading; 1 January 1970 was a Thursday. */
export function weekdayOf(wall: number): Local["weekday"] {
  const fromMonday = (((Math.floor(wall / DAY_MS) + 3) % 7) + 7) % 7;
  return WEEKDAYS[fromMonday] ?? 1;
}

const WEEKDAYS = [1, 2, 3, 4, 5, 6, 7] as const;
const DATE = /^(\d{4})-(\d{2})-(\d{2})$/;

function nextOffset(near: ReturnType<typeof offsetStretches>, from: number): number {
  return near.find((stretch) => stretch.from === from)?.offset ?? -Infinity;
}
