import { countedTimes, survivalQuantile, type CountedTimes, type SurvivalCurve, type SurvivalQuantile } from "@/lib/domain/stats/kaplan-meier";
import { share, type Share } from "@/lib/domain/stats/wilson";
import { MINUTE_MS } from "@/lib/domain/time/local";

/** One photo set on the practice's clock. Instants are epoch ms. */
export type TimedAnswer = {
  readonly answeredAt: number | null;
  /** Null for a practice without hours, and while the clock stands still. */
  readonly dueAt: number | null;
  /** Working time from arrival to the answer, or to now while it waits, ms. */
  readonly workingMs: number;
};

export type AnswerFigures = {
  /** Of all of them; those still waiting are open, never left out. Times are whole minutes, in ms. */
  readonly curve: SurvivalCurve;
  readonly median: SurvivalQuantile;
  readonly ninetieth: SurvivalQuantile;
  /** Of those that are answered or overdue: an overdue one can only be late. */
  readonly within: Share;
};

/** The same without the curve, for one group among many. */
export type GroupFigures = Omit<AnswerFigures, "curve"> & { readonly n: number; readonly open: number };

export type Quantiles = Pick<AnswerFigures, "median" | "ninetieth">;

/** Photo sets of which all is known for good: answered, and due by now. */
export type SettledPart = {
  /** Of their answer times, rising. */
  readonly minutes: ArrayLike<number>;
  readonly inTime: number;
  /** Of these alone. */
  readonly quantiles: Quantiles;
};

export type FiguresTally = { add(timed: TimedAnswer): void; addSettled(part: SettledPart): void; figures(): AnswerFigures; group(): GroupFigures };

export const minutesOf = ({ workingMs }: Pick<TimedAnswer, "workingMs">): number => Math.round(workingMs / MINUTE_MS);

/** Takes one after the other, so that nobody has to hold all of them. */
export function figuresTally(now: number): FiguresTally {
  const parts: SettledPart[] = [];
  const times = countedTimes();
  let [inTime, judged, each] = [0, 0, 0];
  const figures = (): AnswerFigures => {
    for (const { minutes } of parts.splice(0)) addRuns(times, minutes);
    const curve = times.curve();
    return { curve, ...quantilesOf(curve), within: share(inTime, judged) };
  };
  return {
    add(timed) {
      const { answeredAt, dueAt } = timed;
      each += 1;
      times.add(minutesOf(timed) * MINUTE_MS, answeredAt !== null);
      if (dueAt === null || (answeredAt === null && dueAt >= now)) return;
      judged += 1;
      if (answeredAt !== null && answeredAt <= dueAt) inTime += 1;
    },
    addSettled(part) {
      parts.push(part);
      judged += part.minutes.length;
      inTime += part.inTime;
    },
    figures,
    group() {
      const [only] = parts;
      if (only && parts.length === 1 && each === 0) return { n: only.minutes.length, open: 0, ...only.quantiles, within: share(inTime, judged) };
      const { curve: { n, open }, ...rest } = figures();
      return { n, open, ...rest };
    },
  };
}

const quantilesOf = (curve: SurvivalCurve): Quantiles => ({ median: survivalQuantile(curve, 0.5), ninetieth: survivalQuantile(curve, 0.9) });

/** Whether all is known for good of each of these. */
export const areSettled = (sets: readonly TimedAnswer[], now: number): boolean =>
  sets.every(({ answeredAt, dueAt }) => answeredAt !== null && answeredAt <= now && dueAt !== null && dueAt <= now);

/** One part from what it consists of; null where not all of it is known for good. */
export function settledPart(sets: readonly TimedAnswer[], now: number): SettledPart | null {
  if (!areSettled(sets, now)) return null;
  const minutes = Int32Array.from(sets, minutesOf).sort();
  const { median, ninetieth } = answerFigures(sets, now);
  return { minutes, inTime: sets.filter(({ answeredAt, dueAt }) => (answeredAt ?? 0) <= (dueAt ?? 0)).length, quantiles: { median, ninetieth } };
}

/** Equal ones lie beside each other. */
function addRuns(times: CountedTimes, minutes: ArrayLike<number>): void {
  for (let at = 0; at < minutes.length;) {
    const [begun, minute] = [at, minutes[at] ?? 0];
    while (minutes[at] === minute) at += 1;
    times.add(minute * MINUTE_MS, true, at - begun);
  }
}

export function answerFigures(sets: readonly TimedAnswer[], now: number): AnswerFigures {
  const tally = figuresTally(now);
  for (const set of sets) tally.add(set);
  return tally.figures();
}
