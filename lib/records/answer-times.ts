import "server-only";
import type { PracticeGrant } from "@/lib/access/grant";
import type { Pattern } from "@/lib/domain/curve/record";
import { figuresTally, type FiguresTally, type GroupFigures } from "@/lib/domain/stats/answer-figures";
import { endOfLocalDay, localDate } from "@/lib/domain/time/local";
import type { CalendarHistory } from "@/lib/domain/time/working-week";
import { timing, type OnClock } from "@/lib/records/answer-clock";
import { readAskedTimes, readAskedTimesIn, type AskedTimes } from "@/lib/records/back-question-reads";
import { readCalendar } from "@/lib/records/calendar";
import { keysBy, READS, type By } from "@/lib/records/figures-by";
import { readKindTimes } from "@/lib/records/kind-times";
import { readSettled } from "@/lib/records/settled-times";
import { EVER, patternsByKey, sentSets, setsWaiting } from "@/lib/records/timed-sets";
import { readAsked } from "@/lib/records/waiting";

export type TimedSet = OnClock & {
  readonly photoSetId: string;
  readonly sentAt: number;
  readonly exerciseKey: string;
  /** Of the curve record that its set-up was confirmed for. */
  readonly pattern: Pattern;
  readonly answeredBy: string | null;
  /** Which of its child's photo sets of this exercise it was, from 1. */
  readonly nth: number;
};

/** Rows of one statement, with all that is said of them. */
const ROWS = 250;

/** Every sent photo set that still counts, oldest first, on the practice's clock, some at a time: nothing is held of those before. */
export async function* timedSets({ practiceId }: PracticeGrant<"times.read">, now: number): AsyncGenerator<readonly TimedSet[]> {
  const patterns = patternsByKey(practiceId);
  let asked: AskedTimes = new Map();
  const timed = timing(readCalendar(practiceId), { get: (photoSetId) => asked.get(photoSetId) }, now);
  for await (const rows of sentSets(practiceId, ["exerciseKey", "patternKey", "answeredBy", "nth"], EVER, ROWS)) {
    asked = readAskedTimesIn(rows[0]?.sentAt ?? 0, (rows.at(-1)?.sentAt ?? 0) + 1);
    yield rows.flatMap((row) => {
      const { photoSetId, sentAt, exerciseKey, answeredBy, nth } = row;
      const pattern = patterns.get(row.patternKey ?? "");
      return pattern ? [{ ...timed(row), photoSetId, sentAt, exerciseKey: exerciseKey ?? "", answeredBy, pattern, nth: nth ?? 1 }] : [];
    });
  }
}

/** `key` as `keysBy` says it. */
export type FiguresGroup = { readonly key: string; readonly figures: GroupFigures };

/** What the answer times page says; every figure with its n, open ones counted as open. Each set stands in exactly one group. */
export async function answerTimes({ practiceId }: PracticeGrant<"times.read">, by: By, now: number) {
  const calendar = readCalendar(practiceId);
  const endOfToday = endOfLocalDay(localDate(now, calendar.zone), calendar.zone);
  const keyOf = keysBy(calendar.zone)[by];
  const all = figuresTally(now);
  const groups = new Map<string, FiguresTally>();
  const groupOf = (key: string): FiguresTally => {
    const group = groups.get(key) ?? figuresTally(now);
    groups.set(key, group);
    return group;
  };
  let oldest: { readonly sentAt: number; readonly workingMs: number } | null = null;
  let [waiting, onFamily, overdue, dueToday] = [0, 0, 0, 0];
  for await (const { parts, rows, clock } of countedSets(practiceId, calendar, by, now)) {
    for (const part of parts) {
      all.addSettled(part);
      groupOf(part.key).addSettled(part);
    }
    for (const row of rows) {
      const timed = clock(row);
      all.add(timed);
      groupOf(keyOf(row)).add(timed);
      if (timed.answeredAt !== null) continue;
      if (timed.isOnFamily) {
        onFamily += 1;
        continue;
      }
      waiting += 1;
      if (oldest === null || row.sentAt < oldest.sentAt) oldest = { sentAt: row.sentAt, workingMs: timed.workingMs };
      if (timed.dueAt !== null && timed.dueAt < now) overdue += 1;
      else if (timed.dueAt !== null && timed.dueAt < endOfToday) dueToday += 1;
    }
  }
  return {
    ...all.figures(), waiting, onFamily, oldest, overdue, dueToday,
    groups: inOrder(by, [...groups].map(([key, tally]) => ({ key, figures: tally.group() }))),
    patterns: by === "pattern" ? patternsByKey(practiceId) : new Map<string, Pattern>(),
    kinds: readKindTimes(practiceId, calendar, now),
  };
}

/** Every photo set that counts, once: what is known for good as it was kept, of that time what waits nevertheless, and all that was sent in between or since. */
async function* countedSets(practiceId: string, calendar: CalendarHistory, by: By, now: number) {
  const { weeks, gaps, parts } = readSettled(practiceId, by, now);
  // Read with what is settled: until the next turn nobody changes anything.
  const forgotten = weeks.length === 0 ? [] : setsWaiting(practiceId, READS[by]).filter(({ sentAt }) => weeks.some(({ from, until }) => sentAt >= from && sentAt < until));
  yield { parts, rows: forgotten, clock: timing(calendar, readAsked(), now) };
  for (const gap of gaps) {
    let clock: ReturnType<typeof timing> | null = null;
    for await (const rows of sentSets(practiceId, READS[by], gap)) {
      if (rows.length > 0) yield { parts: [], rows, clock: (clock ??= timing(calendar, readAskedTimes(practiceId, gap.from), now)) };
    }
  }
}

/** Weeks newest first, others largest first. */
const inOrder = (by: By, groups: readonly FiguresGroup[]): readonly FiguresGroup[] =>
  groups.toSorted((a, b) => (by === "week" ? b.key.localeCompare(a.key) : b.figures.n - a.figures.n || a.key.localeCompare(b.key)));
