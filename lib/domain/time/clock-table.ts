import { DAY_MS } from "@/lib/domain/time/local";
import { workingStretches, type Stretch } from "@/lib/domain/time/spans";
import { answerTimeMs, dueAt } from "@/lib/domain/time/working-time";
import type { CalendarHistory, HoursVersion, Pause, Promised } from "@/lib/domain/time/working-week";

/** The practice's clock for many arrivals at once: the same answers as `answerTimeMs` and `dueAt`. */
export type ClockTable = {
  answerTimeMs(arrivedAt: number, until: number, pauses?: readonly Pause[]): number;
  dueAt(kind: Promised, arrivedAt: number, pauses?: readonly Pause[]): number | null;
};

/** How far past its end a table is read for due times; what is due later is worked out one by one. */
const AHEAD_MS = 60 * DAY_MS;
/** Closed for so long, "never" begins: then nothing here can be looked up. */
const LONGEST_GAP_MS = 400 * DAY_MS;

/** Works out all working time of [from, to) once. What lies outside is answered too, slowly. UTC ms. */
export function clockTable(history: CalendarHistory, from: number, to: number): ClockTable {
  const end = to + AHEAD_MS;
  const [opens, closes, before]: [number[], number[], number[]] = [[], [], []];
  let total = 0;
  let isWhole = from < end;
  let last = from;
  for (const [start, stop] of isWhole ? workingStretches(history, from, end) : []) {
    if (start - last >= LONGEST_GAP_MS) isWhole = false;
    opens.push(start);
    closes.push(stop);
    before.push(total);
    total += stop - start;
    last = stop;
  }
  if (end - last >= LONGEST_GAP_MS) isWhole = false;
  const versions = [...history.versions].sort((a, b) => a.effectiveFrom - b.effectiveFrom);
  const inForce = (at: number): HoursVersion | undefined => versions.findLast((version) => version.effectiveFrom <= at) ?? versions[0];
  const isInside = (at: number): boolean => isWhole && at >= from && at < end;

  const workedAt = (at: number): number => {
    const index = lastUpTo(opens, at);
    return index < 0 ? 0 : (before[index] ?? 0) + Math.min(at, closes[index] ?? 0) - (opens[index] ?? 0);
  };
  return {
    answerTimeMs(arrivedAt, until, pauses = NONE) {
      if (until <= arrivedAt) return 0;
      if (!isInside(arrivedAt) || !isInside(until)) return answerTimeMs(history, arrivedAt, until, pauses);
      return joined(pauses, arrivedAt, until).reduce((worked, [start, stop]) => worked - workedAt(stop) + workedAt(start), workedAt(until) - workedAt(arrivedAt));
    },
    dueAt(kind, arrivedAt, pauses = NONE) {
      const promised = inForce(arrivedAt);
      if (!promised) return null;
      let [start, left] = [arrivedAt, promised.promiseMs[kind]];
      for (const [pausedAt, resumedAt] of joined(pauses, arrivedAt, Infinity)) {
        const worked = workedAt(pausedAt) - workedAt(start);
        if (worked >= left) break;
        left -= worked;
        start = resumedAt;
      }
      const spent = workedAt(start) + left;
      if (!isInside(arrivedAt) || !isInside(start) || left <= 0 || spent > total) return dueAt(history, kind, arrivedAt, pauses);
      // The last stretch that began with less than that worked: within it, or exactly at its end, it is spent.
      const index = lastUpTo(before, spent, true);
      return (opens[index] ?? 0) + spent - (before[index] ?? 0);
    },
  };
}

const NONE: readonly Pause[] = [];

/** Pauses within [from, to) as stretches in order that do not overlap. */
function joined(pauses: readonly Pause[], from: number, to: number): readonly Stretch[] {
  if (pauses.length === 0) return [];
  const stretches: [number, number][] = [];
  for (const pause of pauses.toSorted((a, b) => a.from - b.from)) {
    const [start, stop] = [Math.max(from, pause.from, stretches.at(-1)?.[1] ?? from), Math.min(to, pause.until ?? Infinity)];
    if (start < stop) stretches.push([start, stop]);
  }
  return stretches;
}

/** The last place of a rising list whose value is at most `value`, or below it; -1 before the first. */
function lastUpTo(rising: readonly number[], value: number, isBelow = false): number {
  let [low, high] = [0, rising.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    const at = rising[middle] ?? Infinity;
    if (isBelow ? at < value : at <= value) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}
