import { versionAt } from "@/lib/domain/time/spans";
import type { CalendarHistory, Pause, Promised } from "@/lib/domain/time/working-week";
import { answerTimeMs, dueAt } from "@/lib/domain/time/working-time";

/** The clock of one thing that waits. `dueAt` is UTC ms, null while no working time is to come and while the clock stands still. */
export type DueClock = {
  readonly dueAt: number | null;
  readonly isOverdue: boolean;
  /** Working time left, or past due when overdue, ms; and the share of the promise left, 0 to 1. */
  readonly leftMs: number;
  readonly leftShare: number;
};

/** Where the answering promise of a kind stands now for what arrived at `since`; both UTC ms. Nothing is overdue while the practice waits on the family. */
export function dueClock(calendar: CalendarHistory, kind: Promised, since: number, now: number, pauses: readonly Pause[] = []): DueClock {
  const promiseMs = versionAt(calendar, since)?.promiseMs[kind] ?? 0;
  const shareOf = (ms: number): number => (promiseMs === 0 ? 0 : Math.min(1, ms / promiseMs));
  if (pauses.some(({ until }) => until === null)) {
    const leftMs = Math.max(0, promiseMs - answerTimeMs(calendar, since, now, pauses));
    return { dueAt: null, isOverdue: false, leftMs, leftShare: shareOf(leftMs) };
  }
  const due = dueAt(calendar, kind, since, pauses);
  if (due === null) return { dueAt: null, isOverdue: false, leftMs: 0, leftShare: 0 };
  if (due < now) return { dueAt: due, isOverdue: true, leftMs: answerTimeMs(calendar, due, now, pauses), leftShare: 0 };
  const leftMs = answerTimeMs(calendar, now, due, pauses);
  return { dueAt: due, isOverdue: false, leftMs, leftShare: shareOf(leftMs) };
}
