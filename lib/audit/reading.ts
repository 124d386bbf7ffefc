import "server-only";
import { database, isDatabaseFull, type Transaction } from "@/db/client";

/**
 * Writes down that something was only read. On a disk without any room left it is shown all the same, since a child's stop
 * may stand there; the log then says that an entry is missing.
 */
export function writeReading(write: (tx: Transaction) => void): void {
  try {
    database().transaction(write, { behavior: "immediate" });
  } catch (error) {
    if (!isDatabaseFull(error)) throw error;
    process.stderr.write(`${JSON.stringify({ at: new Date().toISOString(), event: "reading-not-audited" })}\n`);
  }
}
