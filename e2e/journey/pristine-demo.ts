import { cpSync, mkdirSync, rmSync } from "node:fs";
import { basename, join } from "node:path";
import Database from "better-sqlite3";

/** What stands in a data folder for the process that serves it, or is copied by the database itself. */
const NOT_COPIED = /^(?:lock|reserve|trueside\.db|audit-mark)/;

/** Where a run keeps the demo as it was seeded. */
const pristineDemo = (): string => `${process.env["E2E_DATA_DIR"]}-pristine`;

/** Fills a new data folder with the demo as it was seeded for this run. */
export const fillWithDemo = (dataDir: string): void => cpSync(pristineDemo(), dataDir, { recursive: true });

/** Once a run, before any test: the shared demo is copied, so that a practice of a test's own need not be seeded again. */
export default async function keepPristine(): Promise<() => void> {
  const from = process.env["E2E_DATA_DIR"];
  if (!from) throw new Error("E2E_DATA_DIR is not set");
  const to = pristineDemo();
  mkdirSync(to);
  const db = new Database(join(from, "trueside.db"), { readonly: true });
  await db.backup(join(to, "trueside.db"));
  db.close();
  cpSync(from, to, { recursive: true, filter: (path) => !NOT_COPIED.test(basename(path)) });
  return () => rmSync(to, { recursive: true, force: true });
}
