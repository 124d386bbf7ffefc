import { lt } from "drizzle-orm";
import { expect } from "vitest";
import { database } from "@/db/client";
import { settledWeeks } from "@/db/schema/times";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { answerFigures, type AnswerFigures } from "@/lib/domain/stats/answer-figures";
import { endOfLocalDay, localDate, mondayOf } from "@/lib/domain/time/local";
import { answerTimes, timedSets, type TimedSet } from "@/lib/records/answer-times";
import { readCalendar } from "@/lib/records/calendar";
import { BY, type By } from "@/lib/records/figures-by";
import { allOf } from "@/tests/records/in-lots";

const keyOf = (zone: string): Readonly<Record<By, (set: TimedSet) => string>> => ({
  week: ({ sentAt }) => mondayOf(localDate(sentAt, zone)), exercise: ({ exerciseKey }) => exerciseKey, pattern: ({ pattern }) => pattern.key,
  colleague: ({ answeredBy }) => answeredBy ?? "", nth: ({ nth }) => (nth === 1 ? "first" : "later"),
});
const groupSays = ({ curve, ...rest }: AnswerFigures) => ({ n: curve.n, open: curve.open, ...rest });

/** The same from every photo set there ever was, one after the other. */
function plain(sets: readonly TimedSet[], by: By, now: number) {
  const { zone } = readCalendar("practice");
  const keys = new Map(sets.map((set) => [set, keyOf(zone)[by](set)]));
  const waiting = sets.filter(({ answeredAt, isOnFamily }) => answeredAt === null && !isOnFamily);
  const [oldest] = waiting;
  return {
    ...answerFigures(sets, now), waiting: waiting.length, onFamily: sets.filter(({ isOnFamily }) => isOnFamily).length, oldest: oldest ? { sentAt: oldest.sentAt, workingMs: oldest.workingMs } : null,
    overdue: waiting.filter(({ dueAt }) => dueAt !== null && dueAt < now).length, dueToday: waiting.filter(({ dueAt }) => dueAt !== null && dueAt >= now && dueAt < endOfLocalDay(localDate(now, zone), zone)).length,
    groups: new Map([...new Set(keys.values())].toSorted().map((key) => [key, groupSays(answerFigures(sets.filter((set) => keys.get(set) === key), now))])),
  };
}

/** What the page says, each way of telling apart, and what every photo set there ever was says. */
export async function bothWays(lead: Actor, now: number): Promise<{ readonly page: readonly unknown[]; readonly all: readonly unknown[] }> {
  const sets = await allOf(timedSets(await grant(lead, "times.read", null), now));
  const page: unknown[] = [];
  for (const by of BY) {
    const { patterns: _patterns, kinds: _kinds, groups, ...said } = await answerTimes(await grant(lead, "times.read", null), by, now);
    page.push([by, { ...said, groups: new Map(groups.map(({ key, figures }) => [key, figures] as const).toSorted(([a], [b]) => (a < b ? -1 : 1))) }]);
  }
  return { page, all: BY.map((by) => [by, plain(sets, by, now)]) };
}

/** Holds one to the other. */
export async function same(lead: Actor, label: readonly unknown[], now: number): Promise<void> {
  const { page, all } = await bothWays(lead, now);
  expect([...label, page]).toEqual([...label, all]);
}

/** Weeks that are settled. */
export const count = () => database().select().from(settledWeeks).where(lt(settledWeeks.settledAt, Number.MAX_SAFE_INTEGER)).all().length;
