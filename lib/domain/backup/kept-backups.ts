const DAY_MS = 86_400_000;
const WEEK_MS = 7 * DAY_MS;
/** 1 January 1970 was a Thursday: weeks are counted from a Monday. */
const MONDAY_MS = 4 * DAY_MS;

const DAILY = 7;
const WEEKLY = 4;
/** What is erased is out of every backup when this is over. */
export const LONGEST_MS = 35 * DAY_MS;

/**
 * Which backups stay, of the moments they were begun at (UTC ms): the newest of each of the last seven days that
 * have one and of each of the last four weeks, none older than 35 days. The newest of all always stays.
 */
export function keptBackups(madeAt: readonly number[], now: number): ReadonlySet<number> {
  const newest = [...madeAt].sort((a, b) => b - a);
  const young = newest.filter((at) => now - at <= LONGEST_MS);
  return new Set([
    ...newest.slice(0, 1),
    ...newestOfEach(young, (at) => Math.floor(at / DAY_MS)).slice(0, DAILY),
    ...newestOfEach(young, (at) => Math.floor((at - MONDAY_MS) / WEEK_MS)).slice(0, WEEKLY),
  ]);
}

/** Of moments, newest first, the first of each span. */
function newestOfEach(moments: readonly number[], spanOf: (at: number) => number): readonly number[] {
  const seen = new Set<number>();
  return moments.filter((at) => !seen.has(spanOf(at)) && seen.add(spanOf(at)));
}

/**
 * Whether it may be the clock, and not time, that makes the others old: a jump of years would take every backup
 * away at once. They then stay until a backup of another day stands beside the new one.
 */
export function isClockDoubtful(madeAt: readonly number[], now: number): boolean {
  const days = new Set(madeAt.filter((at) => now - at <= LONGEST_MS).map((at) => Math.floor(at / DAY_MS)));
  return madeAt.length > 1 && days.size < 2 && madeAt.some((at) => now - at > LONGEST_MS);
}
