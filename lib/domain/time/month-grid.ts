import { addDays, weekdayOf, wallOf } from "@/lib/domain/time/local";
import type { LocalDate } from "@/lib/domain/time/working-week";

/** One month as weeks from Monday to Sunday (ISO 8601); null where the day belongs to another month. */
export type MonthGrid = { readonly month: string; readonly weeks: readonly (readonly (LocalDate | null)[])[] };

/** The grid of a month written `YYYY-MM`. Throws on no month. */
export function monthGrid(month: string): MonthGrid {
  const first = `${month}-01`;
  const before = weekdayOf(wallOf(first)) - 1;
  const weeks: (LocalDate | null)[][] = [];
  for (let day = addDays(first, -before); weeks.length === 0 || day.slice(0, 7) === month; day = addDays(day, 7)) {
    weeks.push(Array.from({ length: 7 }, (_none, at) => addDays(day, at)).map((each) => (each.slice(0, 7) === month ? each : null)));
  }
  return { month, weeks };
}

/** The months from that of the first day to that of the last, newest first. */
export function monthsBetween(first: LocalDate, last: LocalDate): readonly string[] {
  const months: string[] = [];
  for (let month = last.slice(0, 7); month >= first.slice(0, 7); month = addDays(`${month}-01`, -1).slice(0, 7)) months.push(month);
  return months;
}
