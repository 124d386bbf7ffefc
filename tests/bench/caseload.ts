import { grant } from "@/lib/access/grant";
import { isShown, SHOWN } from "@/lib/domain/caseload/reasons";
import { caseloadOf } from "@/lib/records/caseload";
import { growPractice, type Size } from "@/tests/bench/big-practice";
import { spread, type Line, type Section } from "@/tests/bench/section";
import { makeWorld } from "@/tests/records/world";

const SIZES: readonly Size[] = [{ families: 1000, sets: 20_000, waiting: 40 }, { families: 10_000, sets: 200_000, waiting: 40 }];

/** The whole caseload of a practice: every child, every reason, in order. Filling the practice is not in it; the first run is. */
export async function caseload(runs: number): Promise<Section> {
  const lines: Line[] = [];
  for (const size of SIZES) lines.push(await measured(size, runs));
  return { name: "caseload", how: "every child of a practice with its reasons, from a database on disk; the first run included", lines };
}

async function measured(size: Size, runs: number): Promise<Line> {
  const world = makeWorld();
  try {
    const now = Date.now();
    const { therapist } = growPractice(size, now);
    const granted = await grant(therapist, "caseload.read", null);
    const took: number[] = [];
    let found = "";
    for (let run = 0; run < runs; run += 1) {
      const began = performance.now();
      const { rows } = await caseloadOf(granted, { weeks: null, order: "urgency" }, now);
      took.push(performance.now() - began);
      found = SHOWN.map((shown) => `${shown} ${rows.filter(({ reasons }) => isShown(reasons, shown)).length}`).join(", ");
    }
    const { median, least, most } = spread(took);
    return { what: `${size.families} families, ${size.sets} photo sets`, runs, "median ms": median, "least to most ms": `${least} to ${most}`, found };
  } finally {
    world.close();
  }
}
