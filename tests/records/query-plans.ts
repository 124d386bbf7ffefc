import { database } from "@/db/client";

/** How the database goes about every statement that `work` runs: one line a table, as SQLite explains it. */
export async function plansOf(work: () => Promise<unknown>): Promise<readonly string[]> {
  const { $client: client } = database();
  const seen = new Set<string>();
  const prepare = client.prepare.bind(client);
  client.prepare = ((text: string) => {
    seen.add(text);
    return prepare(text);
  }) as typeof client.prepare; // the same, watched
  try {
    await work();
  } finally {
    client.prepare = prepare;
  }
  return [...seen].filter((text) => text.trimStart().startsWith("select")).flatMap((text) => {
    const rows = prepare(`explain query plan ${text}`).all(Array.from({ length: text.split("?").length - 1 }, () => null)) as readonly { readonly detail: string }[]; // SQLite's own columns
    return rows.map(({ detail }) => detail);
  });
}

/** Of those, what reads a table that grows with every photo set from end to end without an index. */
export const scansOf = (plans: readonly string[]): readonly string[] => plans.filter((detail) => /^SCAN (?:photo_sets|answers|verdicts|back_questions|later_version)\b(?!.*INDEX)/.test(detail));
