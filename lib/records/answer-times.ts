import "server-only";
import type { PracticeGrant } from "@/lib/access/grant";
import { isWaiting, pausesOf } from "@/lib/domain/answering/back-question";
import type { Pattern } from "@/lib/domain/curve/record";
import { figuresTally, type AnswerFigures, type FiguresTally, type TimedAnswer } from "@/lib/domain/stats/answer-figures";
import { clockTable, type ClockTable } from "@/lib/domain/time/clock-table";
import { addDays, endOfLocalDay, localDate, mondayOf } from "@/lib/domain/time/local";
import type { CalendarHistory } from "@/lib/domain/time/working-week";
import { readAskedTimes } from "@/lib/records/back-question-reads";
import { readCalendar } from "@/lib/records/calendar";
import { readKindTimes } from "@/lib/records/kind-times";
import { patternsByKey, sentSets, setupPatterns, type More, type SetRow } from "@/lib/records/timed-sets";

/** On the practice's clock, and whether that stands still until the family answers what it was asked. */
type OnClock = TimedAnswer & { readonly isOnFamily: boolean; /** Working time that passed while it waited on the family. */ readonly pausedMs: number };

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

/** Every sent photo set that still counts, oldest first, on the practice's clock. */
export async function timedSets({ practiceId }: PracticeGrant<"times.read">, now: number): Promise<readonly TimedSet[]> {
  const timed = timing(practiceId, readCalendar(practiceId), now);
  const [patternKeys, patterns, nthOf] = [setupPatterns(practiceId), patternsByKey(practiceId), counting()];
  const sets: TimedSet[] = [];
  for await (const rows of sentSets(practiceId, ["childId", "exerciseKey", "setupId", "answeredBy"])) {
    for (const row of rows) {
      const { photoSetId, sentAt, exerciseKey, answeredBy } = row;
      const pattern = patterns.get(patternKeys.get(row.setupId ?? "") ?? "");
      if (pattern) sets.push({ ...timed(row), photoSetId, sentAt, exerciseKey: exerciseKey ?? "", answeredBy, pattern, nth: nthOf(row) });
    }
  }
  return sets;
}

/** By what the figures can be told apart. */
export const BY = ["week", "exercise", "pattern", "colleague", "nth"] as const;
export type By = (typeof BY)[number];
const READS: Readonly<Record<By, readonly More[]>> = { week: [], exercise: ["exerciseKey"], pattern: ["setupId"], colleague: ["answeredBy"], nth: ["childId", "exerciseKey"] };

/** `key`: the Monday of the week, an exercise's or a pattern's key, who answered ("" while nobody has), "first" or "later". */
export type FiguresGroup = { readonly key: string; readonly figures: AnswerFigures };

/** What the answer times page says; every figure with its n, open ones counted as open. Each set stands in exactly one group. */
export async function answerTimes({ practiceId }: PracticeGrant<"times.read">, by: By, now: number) {
  const calendar = readCalendar(practiceId);
  const timed = timing(practiceId, calendar, now);
  const endOfToday = endOfLocalDay(localDate(now, calendar.zone), calendar.zone);
  const keyOf = keysBy(by, practiceId, calendar.zone);
  const all = figuresTally(now);
  const groups = new Map<string, FiguresTally>();
  let oldest: { readonly sentAt: number; readonly workingMs: number } | null = null;
  let [waiting, onFamily, overdue, dueToday] = [0, 0, 0, 0];
  for await (const rows of sentSets(practiceId, READS[by])) {
    for (const row of rows) {
      const each = timed(row);
      all.add(each);
      const key = keyOf(row);
      const group = groups.get(key) ?? figuresTally(now);
      groups.set(key, group);
      group.add(each);
      if (each.answeredAt !== null) continue;
      if (each.isOnFamily) {
        onFamily += 1;
        continue;
      }
      waiting += 1;
      oldest ??= { sentAt: row.sentAt, workingMs: each.workingMs };
      if (each.dueAt !== null && each.dueAt < now) overdue += 1;
      else if (each.dueAt !== null && each.dueAt < endOfToday) dueToday += 1;
    }
  }
  return {
    ...all.figures(), waiting, onFamily, oldest, overdue, dueToday,
    groups: inOrder(by, [...groups].map(([key, tally]) => ({ key, figures: tally.figures() }))),
    patterns: patternsByKey(practiceId),
    kinds: readKindTimes(practiceId, calendar, now),
  };
}

/** The clock of one set after the other, oldest first: its table begins with the first. */
function timing(practiceId: string, calendar: CalendarHistory, now: number): (row: SetRow) => OnClock {
  const asked = readAskedTimes(practiceId);
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

function keysBy(by: By, practiceId: string, zone: string): (row: SetRow) => string {
  const [patterns, nthOf] = [by === "pattern" ? setupPatterns(practiceId) : null, counting()];
  let week = { key: "", until: -Infinity };
  const keys: Readonly<Record<By, (row: SetRow) => string>> = {
    week({ sentAt }) {
      // Oldest first: most are of the week that the one before was of.
      if (sentAt >= week.until) {
        const monday = mondayOf(localDate(sentAt, zone));
        week = { key: monday, until: endOfLocalDay(addDays(monday, 6), zone) };
      }
      return week.key;
    },
    exercise: ({ exerciseKey }) => exerciseKey ?? "",
    pattern: ({ setupId }) => patterns?.get(setupId ?? "") ?? "",
    colleague: ({ answeredBy }) => answeredBy ?? "",
    nth: (row) => (nthOf(row) === 1 ? "first" : "later"),
  };
  return keys[by];
}

/** Weeks newest first, others largest first. */
const inOrder = (by: By, groups: readonly FiguresGroup[]): readonly FiguresGroup[] =>
  groups.toSorted((a, b) => (by === "week" ? b.key.localeCompare(a.key) : b.figures.curve.n - a.figures.curve.n));

/** Which of its child's photo sets of its exercise each is, from 1, when they come oldest first. */
function counting(): (row: SetRow) => number {
  const seen = new Map<string, number>();
  return ({ childId, exerciseKey }) => {
    const key = `${childId} ${exerciseKey}`;
    const nth = (seen.get(key) ?? 0) + 1;
    seen.set(key, nth);
    return nth;
  };
}
