import "server-only";
import { statSync } from "node:fs";
import { join } from "node:path";
import { database, dataDir } from "@/db/client";
import { runEvery } from "@/lib/jobs/run-every";

const LOOK_MS = 1_000;
/** Replaced or deleted under us, what is written to either is written into nothing, and still acknowledged. */
const FILES = ["trueside.db", "trueside.db-wal"] as const;

type File = (typeof FILES)[number];

/** Calls `lost` with the file that is no longer the one it saw first. The log of writes may come later than the first look, and then stays. */
export function fileWatch(dir: string, lost: (file: File) => void): () => void {
  const seen = new Map<File, string>();
  return () => {
    for (const file of FILES) {
      const now = identity(join(dir, file));
      const before = seen.get(file);
      if (before !== undefined && before !== now) lost(file);
      else if (now !== null) seen.set(file, now);
    }
  };
}

/** Which file stands under a name; null for none. What else goes wrong is thrown: it says nothing about the file. */
function identity(path: string): string | null {
  const found = statSync(path, { throwIfNoEntry: false, bigint: true });
  return found ? `${found.dev}:${found.ino}` : null;
}

/** Ends the process at once, unlike a signal to stop: every further answer would be a promise that cannot be kept. */
export function startDatabaseWatch(): void {
  // Opened first, or the log seen could be that of a command which takes it along when it ends.
  database();
  runEvery("database-watch", LOOK_MS, fileWatch(dataDir(), (file) => {
    process.stderr.write(`${JSON.stringify({ at: new Date().toISOString(), event: "database-replaced", file })}\n`);
    process.exit(1);
  }));
}
