/** A day of the local calendar, "YYYY-MM-DD". It has no zone and no length of its own. */
export type LocalDate = string;

/** "HH:MM", 00:00 to 24:00. */
export type ClockTime = string;

/** From and to, half-open. A `to` that is not after `from` runs past midnight. */
export type OpenSpan = readonly [from: ClockTime, to: ClockTime];

/** Spans by ISO weekday, 1 Monday to 7 Sunday; a missing day is closed. A span belongs to the day it starts. */
export type WorkingWeek = { readonly [Day in "1" | "2" | "3" | "4" | "5" | "6" | "7"]?: readonly OpenSpan[] };

/** One practice's hours, unchanging. A closure cancels the spans that start on that local date. */
export type WorkingCalendar = {
  readonly zone: string;
  readonly week: WorkingWeek;
  readonly closures: readonly LocalDate[];
};

/** Hours and promise that hold from an instant (UTC ms) until the next version's. */
export type HoursVersion = {
  readonly effectiveFrom: number;
  readonly week: WorkingWeek;
  /** The answering promise, in milliseconds of working time. */
  readonly promiseMs: number;
};

/** Hours as they changed over time. The first version also covers what came before it. */
export type CalendarHistory = {
  readonly zone: string;
  readonly closures: readonly LocalDate[];
  readonly versions: readonly HoursVersion[];
};

/** While the practice waits on the family; `until` null means it still does. UTC ms. */
export type Pause = { readonly from: number; readonly until: number | null };
