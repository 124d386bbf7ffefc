import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { database } from "@/db/client";
import { migrateDatabase } from "@/db/migrate";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { isShown, SHOWN } from "@/lib/domain/caseload/reasons";
import { DESK } from "@/lib/domain/words/reader";
import { caseloadOf } from "@/lib/records/caseload";
import { fillPractice, type Size } from "@/tests/bench/big-practice";
import { spread, type Line, type Section } from "@/tests/bench/section";

const SIZES: readonly Size[] = [{ families: 1000, setsEach: 20 }, { families: 10_000, setsEach: 20 }];
const THERAPIST: Actor = { personId: "therapist", practiceId: "practice", role: "therapist", name: "Therapist", timeZone: "Europe/London", reader: DESK, sessionId: "bench", provedAt: null, requestId: "bench" };

/** The whole caseload of a practice: every child, every reason, in order. Filling the practice is not in it; the first run is. */
export async function caseload(runs: number): Promise<Section> {
  const lines: Line[] = [];
  for (const size of SIZES) lines.push(await measured(size, runs));
  return { name: "caseload", how: "every child of a practice with its reasons, from a database on disk; the first run included", lines };
}

async function measured(size: Size, runs: number): Promise<Line> {
  const dir = mkdtempSync(join(tmpdir(), "trueside-bench-"));
  process.env["DATA_DIR"] = dir;
  try {
    const db = database();
    migrateDatabase(db);
    const now = Date.now();
    fillPractice(db, size, now);
    const granted = await grant(THERAPIST, "caseload.read", null);
    const took: number[] = [];
    let found = "";
    for (let run = 0; run < runs; run += 1) {
      const began = performance.now();
      const { rows } = await caseloadOf(granted, { weeks: null, order: "urgency" }, now);
      took.push(performance.now() - began);
      found = SHOWN.map((shown) => `${shown} ${rows.filter(({ reasons }) => isShown(reasons, shown)).length}`).join(", ");
    }
    const { median, least, most } = spread(took);
    db.$client.close();
    return { what: `${size.families} families, ${size.families * size.setsEach} photo sets`, runs, "median ms": median, "least to most ms": `${least} to ${most}`, found };
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
}
