import { DAY_MS } from "@/lib/domain/time/local";
import { versionAt, workingStretches, type Hours, type Stretch } from "@/lib/domain/time/spans";
import type { CalendarHistory, Pause, Promised } from "@/lib/domain/time/working-week";

/** After so long without any working time there is none to come: longer than any closure. */
const LONGEST_CLOSURE_MS = 400 * DAY_MS;

/** Working time, in ms, in the half-open [start, end); 0 when end is not after start. UTC ms. */
export function workingMsBetween(hours: Hours, start: number, end: number): number {
  return lengthOf(start < end ? workingStretches(hours, start, end) : []);
}

/**
 * The earliest instant by which `ms` of working time have passed since start: exactly at closing
 * rather than at the next opening, and start itself for 0. Null when no working time comes for 400
 * days. Throws on a negative or endless duration.
 */
export const addWorkingMs = (hours: Hours, start: number, ms: number): number | null => addUnpaused(hours, start, ms, []);

/** The next instant the practice works, `at` itself when it does; null when none comes for 400 days. */
export function nextOpening(hours: Hours, at: number): number | null {
  for (const [from] of workingStretches(hours, at, at + LONGEST_CLOSURE_MS)) return from;
  return null;
}

/** Whether the practice works at an instant. */
export const isOpen = (hours: Hours, at: number): boolean => workingMsBetween(hours, at, at + 1) > 0;

/**
 * When an answer is due: its kind's promise in force at arrival, counted in working time, time spent
 * waiting on the family left out. Null while the clock stands still (an open pause, no working
 * time for 400 days) and for a history without hours.
 */
export function dueAt(history: CalendarHistory, kind: Promised, arrivedAt: number, pauses: readonly Pause[] = []): number | null {
  const promised = versionAt(history, arrivedAt);
  return promised && addUnpaused(history, arrivedAt, promised.promiseMs[kind], pauses);
}

/**
 * Answer time in ms of working time, from arrival until the answer or now, time spent waiting on
 * the family left out. Never negative: 0 when the end is not after the arrival.
 */
export function answerTimeMs(history: CalendarHistory, arrivedAt: number, until: number, pauses: readonly Pause[] = []): number {
  if (until <= arrivedAt) return 0;
  return lengthOf(without(workingStretches(history, arrivedAt, until), pauses));
}

function addUnpaused(hours: Hours, start: number, ms: number, pauses: readonly Pause[]): number | null {
  if (!(ms >= 0 && ms < Infinity)) throw new RangeError("A duration is a finite number of milliseconds, 0 or more.");
  if (ms === 0) return start;
  const lastResume = Math.max(start, ...pauses.map(({ until }) => until ?? start));
  let left = ms;
  let from = start;
  for (;;) {
    const to = from + LONGEST_CLOSURE_MS;
    const before = left;
    for (const [opens, closes] of without(workingStretches(hours, from, to), pauses)) {
      if (closes - opens >= left) return opens + left;
      left -= closes - opens;
    }
    // A pause may outlast any closure; only after the last one does an empty stretch mean never.
    if (left === before && from >= lastResume) return null;
    from = to;
  }
}

/** The parts of the stretches outside every pause; pauses may overlap and come in any order. */
function* without(stretches: Iterable<Stretch>, pauses: readonly Pause[]): Generator<Stretch> {
  const inOrder = [...pauses].sort((a, b) => a.from - b.from);
  for (const [opens, closes] of stretches) {
    let from = opens;
    for (const pause of inOrder) {
      if (pause.from >= closes) break;
      if (pause.from > from) yield [from, pause.from];
      from = Math.max(from, pause.until ?? Infinity);
    }
    if (from < closes) yield [from, closes];
  }
}

function lengthOf(stretches: Iterable<Stretch>): number {
  let sum = 0;
  for (const [from, to] of stretches) sum += to - from;
  return sum;
}
