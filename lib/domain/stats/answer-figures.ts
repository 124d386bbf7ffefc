import { kaplanMeier, survivalQuantile, type Observation, type SurvivalCurve, type SurvivalQuantile } from "@/lib/domain/stats/kaplan-meier";
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

export type FiguresTally = { add(timed: TimedAnswer): void; figures(): AnswerFigures };

/** Takes one after the other, so that nobody has to hold all of them. */
export function figuresTally(now: number): FiguresTally {
  const observations: Observation[] = [];
  let [inTime, judged] = [0, 0];
  return {
    add({ answeredAt, dueAt, workingMs }) {
      observations.push({ time: Math.round(workingMs / MINUTE_MS) * MINUTE_MS, observed: answeredAt !== null });
      if (dueAt === null || (answeredAt === null && dueAt >= now)) return;
      judged += 1;
      if (answeredAt !== null && answeredAt <= dueAt) inTime += 1;
    },
    figures() {
      const curve = kaplanMeier(observations);
      return { curve, median: survivalQuantile(curve, 0.5), ninetieth: survivalQuantile(curve, 0.9), within: share(inTime, judged) };
    },
  };
}

export function answerFigures(sets: readonly TimedAnswer[], now: number): AnswerFigures {
  const tally = figuresTally(now);
  for (const set of sets) tally.add(set);
  return tally.figures();
}
