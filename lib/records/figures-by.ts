import "server-only";
import { addDays, endOfLocalDay, instantOf, localDate, mondayOf } from "@/lib/domain/time/local";
import type { More, SetRow } from "@/lib/records/timed-sets";

/** By what the figures can be told apart. */
export const BY = ["week", "exercise", "pattern", "colleague", "nth"] as const;
export type By = (typeof BY)[number];

/** What each is told by. */
export const READS: Readonly<Record<By, readonly More[]>> = { week: [], exercise: ["exerciseKey"], pattern: ["patternKey"], colleague: ["answeredBy"], nth: ["isFirst"] };

/** In which group a photo set stands: the Monday of the week, an exercise's or a pattern's key, who answered ("" while nobody has), "first" or "later". */
export function keysBy(zone: string): Readonly<Record<By, (row: SetRow) => string>> {
  let week = { key: "", from: 0, until: 0 };
  return {
    week({ sentAt }) {
      // Most are of the week that the one before was of.
      if (sentAt < week.from || sentAt >= week.until) {
        const monday = mondayOf(localDate(sentAt, zone));
        week = { key: monday, from: instantOf(monday, 0, zone), until: endOfLocalDay(addDays(monday, 6), zone) };
      }
      return week.key;
    },
    exercise: ({ exerciseKey }) => exerciseKey ?? "",
    pattern: ({ patternKey }) => patternKey ?? "",
    colleague: ({ answeredBy }) => answeredBy ?? "",
    nth: ({ isFirst }) => isFirst ?? "later",
  };
}
