/** A day of the local calendar, "YYYY-MM-DD". It has no zone and no length of its own. */
export type LocalDate = string;

/** "HH:MM", 00:00 to 24:00. */
export type ClockTime = string;

/** From and to, half-open. A `to` that is not after `from` runs past midnight. */
export type OpenSpan = readonly [from: ClockTime, to: ClockTime];

/** Spans by ISO weekday, 1 Monday to 7 Sunday; a missing day is closed. A span belongs to the day it starts. */
export type WorkingWeek = { readonly [Day in "1" | "2" | "3" | "4" | "5" | "6" | "7"]?: readonly OpenSpan[] };

/** Spans on one date beside those of the week; what is open anyway counts once. */
export type ExtraOpening = { readonly day: LocalDate; readonly spans: readonly OpenSpan[] };

/**
 * One practice's hours, unchanging. A closure cancels the spans of the week that start on that local date;
 * extra openings hold on it all the same.
 */
export type WorkingCalendar = {
  readonly zone: string;
  readonly week: WorkingWeek;
  readonly closures: readonly LocalDate[];
  readonly openings: readonly ExtraOpening[];
};

/** What a practice promises to answer, each kind within a time of its own. */
export const PROMISED = ["photo-set", "question", "symptom"] as const;
export type Promised = (typeof PROMISED)[number];

/** Hours, zone and promises that hold from an instant (UTC ms) until the next version's. */
export type HoursVersion = {
  readonly effectiveFrom: number;
  readonly zone: string;
  readonly week: WorkingWeek;
  /** Each answering promise, in milliseconds of working time. */
  readonly promiseMs: Readonly<Record<Promised, number>>;
};

/** From when to when something held, UTC ms; `until` null: it still does. Nobody plans what has been. */
export type Held<T> = T & { readonly from: number; readonly until: number | null };

/** Hours as they changed over time. The first version also covers what came before it. */
export type CalendarHistory = {
  /** The zone now, for today's dates; what was due is judged by its version's. */
  readonly zone: string;
  readonly closures: readonly Held<{ readonly day: LocalDate }>[];
  readonly openings: readonly Held<ExtraOpening>[];
  readonly versions: readonly HoursVersion[];
};

/** While the practice waits on the family; `until` null means it still does. UTC ms. */
export type Pause = { readonly from: number; readonly until: number | null };
