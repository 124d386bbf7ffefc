import { versionAt } from "@/lib/domain/time/spans";
import type { CalendarHistory, Promised } from "@/lib/domain/time/working-week";
import { dueAt, workingMsBetween } from "@/lib/domain/time/working-time";

/** The clock of one thing that waits. `dueAt` is UTC ms, null while no working time is to come. */
export type DueClock = {
  readonly dueAt: number | null;
  readonly isOverdue: boolean;
  /** Working time left, or past due when overdue, ms; and the share of the promise left, 0 to 1. */
  readonly leftMs: number;
  readonly leftShare: number;
};

/** Where the answering promise of a kind stands now for what arrived at `since`; both UTC ms. */
export function dueClock(calendar: CalendarHistory, kind: Promised, since: number, now: number): DueClock {
  const due = dueAt(calendar, kind, since);
  const promiseMs = versionAt(calendar, since)?.promiseMs[kind] ?? 0;
  const isOverdue = due !== null && due < now;
  const leftMs = due === null ? 0 : isOverdue ? workingMsBetween(calendar, due, now) : workingMsBetween(calendar, now, due);
  return { dueAt: due, isOverdue, leftMs, leftShare: isOverdue || promiseMs === 0 ? 0 : Math.min(1, leftMs / promiseMs) };
}
