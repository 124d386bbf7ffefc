import { database } from "@/db/client";
import { watched } from "@/tests/bench/watched";

/** How the database goes about every statement that `work` runs: one line a table, as SQLite explains it. */
export async function plansOf(work: () => Promise<unknown>): Promise<readonly string[]> {
  const { $client: client } = database();
  // As they run: some were prepared long before.
  const { statements } = await watched(work);
  return [...statements.keys()].filter((text) => text.trimStart().startsWith("select")).flatMap((text) => {
    const rows = client.prepare(`explain query plan ${text}`).all(Array.from({ length: text.split("?").length - 1 }, () => null)) as readonly { readonly detail: string }[]; // SQLite's own columns
    return rows.map(({ detail }) => detail);
  });
}

/** Tables, and what statements call them, that grow with every photo set. */
const GROWING = ["photo_sets", "answers", "verdicts", "back_questions", "later_version", "later", "photos", "media_files", "marks", "answer_pairs", "questions", "replies", "read_backs", "notices", "w", "v", "a", "s"];
/** And with every child: read from end to end by no page that shows one child or one page of a list. Reports and stops are not: few children ever have one. */
const OF_CHILDREN = ["children", "families", "people", "care_links", "consents", "curve_records", "setups", "phase_openings", "seen_live", "practice_days", "c", "p", "u"];

const scansIn = (plans: readonly string[], tables: readonly string[]) => plans.filter((detail) => new RegExp(`^SCAN (?:${tables.join("|")})\\b(?!.*INDEX)`).test(detail));

/** Of those, what reads a table that grows with every photo set from end to end without an index. */
export const scansOf = (plans: readonly string[]): readonly string[] => scansIn(plans, GROWING);

/** The same, and what reads so of a table that grows with every child. */
export const anyScansOf = (plans: readonly string[]): readonly string[] => scansIn(plans, [...GROWING, ...OF_CHILDREN]);
