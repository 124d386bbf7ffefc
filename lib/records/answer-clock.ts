import "server-only";
import { isWaiting, pausesOf } from "@/lib/domain/answering/back-question";
import type { TimedAnswer } from "@/lib/domain/stats/answer-figures";
import { clockTable, type ClockTable } from "@/lib/domain/time/clock-table";
import type { CalendarHistory } from "@/lib/domain/time/working-week";
import type { AskedTimes } from "@/lib/records/back-question-reads";
import type { SetRow } from "@/lib/records/timed-sets";

/** On the practice's clock, and whether that stands still until the family answers what it was asked. */
export type OnClock = TimedAnswer & { readonly isOnFamily: boolean; /** Working time that passed while it waited on the family. */ readonly pausedMs: number };

/** The clock of one photo set after the other, oldest first: its table begins with the first. `asked`: when they waited on their families. For lib/records alone. */
export function timing(calendar: CalendarHistory, asked: Pick<AskedTimes, "get">, now: number): (row: SetRow) => OnClock {
  let table: ClockTable | null = null;
  return ({ photoSetId, sentAt, answeredAt }) => {
    table ??= clockTable(calendar, sentAt, now);
    const times = asked.get(photoSetId);
    const until = answeredAt ?? now;
    if (!times) return { answeredAt, dueAt: table.dueAt("photo-set", sentAt), workingMs: table.answerTimeMs(sentAt, until), isOnFamily: false, pausedMs: 0 };
    const pauses = pausesOf(times, answeredAt);
    const workingMs = table.answerTimeMs(sentAt, until, pauses);
    return {
      answeredAt, dueAt: table.dueAt("photo-set", sentAt, pauses), workingMs, isOnFamily: answeredAt === null && times.some(isWaiting),
      pausedMs: table.answerTimeMs(sentAt, until) - workingMs,
    };
  };
}
