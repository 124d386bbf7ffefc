import { database } from "@/db/client";
import { grant } from "@/lib/access/grant";
import { answerTimes, timedSets } from "@/lib/records/answer-times";
import { BY } from "@/lib/records/figures-by";
import { settleWeeks } from "@/lib/records/settled-times";
import { pointsToTeach, taughtIn } from "@/lib/records/teaching";
import { growPractice } from "@/tests/bench/big-practice";
import { spread, type Line, type Section } from "@/tests/bench/section";
import { watched } from "@/tests/bench/watched";
import { allOf } from "@/tests/records/in-lots";
import { plansOf, scansOf } from "@/tests/records/query-plans";
import { makeWorld } from "@/tests/records/world";

const [FAMILIES, SETS] = [10_000, 200_000];
const NOW = Date.UTC(2026, 10, 25, 12);
const SEED = 7;

/**
 * The figures of the answer times and the teaching page over a practice of 200 000 photo sets, from the functions
 * that the pages call. Cold: the first time in this process, on a database opened just before. Throws when any
 * statement reads photo sets, answers or verdicts from end to end without an index.
 */
export async function figures(runs: number): Promise<Section> {
  const world = makeWorld();
  try {
    const { lead } = growPractice({ families: FAMILIES, sets: SETS, waiting: 40 }, NOW, SEED);
    await settleWeeks(NOW);
    reopen();
    const [times, teaching] = [await grant(lead, "times.read", null), await grant(lead, "teaching.read", null)];
    const most = async () => (await taughtIn(teaching, NOW))[0];
    const points = async () => {
      const one = await most();
      return one ? pointsToTeach(teaching, one, NOW) : [];
    };
    const works: readonly (readonly [string, () => Promise<unknown>])[] = [
      ...BY.map((by) => [`answer times by ${by}`, () => answerTimes(times, by, NOW)] as const),
      ["rows of the CSV", () => allOf(timedSets(times, NOW))], ["teaching: what was judged", most], ["teaching: points of the most judged", points],
    ];
    const lines: Line[] = [];
    for (const [what, work] of works) {
      reopen();
      const cold = await watched(work);
      const warm = [];
      for (let run = 0; run < runs; run += 1) warm.push(await watched(work));
      const scans = scansOf(await plansOf(work));
      if (scans.length > 0) throw new Error(`${what} reads without an index: ${scans.join("; ")}`);
      const slowest = spread([cold, ...warm].map(({ statements }) => Math.max(...[...statements.values()].map(({ mostMs }) => mostMs))), 1);
      lines.push({
        what, runs: warm.length, "cold ms": Math.round(cold.ms), "cold CPU ms": Math.round(cold.cpuMs), "warm ms": spread(warm.map((each) => each.ms)).median,
        "warm CPU ms": spread(warm.map((each) => each.cpuMs)).median, statements: [...cold.statements.values()].reduce((sum, ran) => sum + ran.times, 0), "slowest statement CPU ms": slowest.median, "slowest, most": slowest.most,
      });
    }
    return { name: "figures", how: `${SETS} photo sets of seed ${SEED}; no statement without an index; CPU beside the clock's time, for a machine that does other things too`, lines };
  } finally {
    world.close();
  }
}

/** The next statement finds a connection that has read nothing yet. */
function reopen(): void {
  database().$client.close();
  (globalThis as Record<symbol, unknown>)[Symbol.for("trueside.database")] = undefined; // where `database` keeps it
}
