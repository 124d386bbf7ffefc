/** What `npm run restore` does, in the folder that `DATA_DIR` names. */
import { existsSync } from "node:fs";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { database, dataDir } from "@/db/client";
import { markNow } from "@/lib/audit/mark";
import { checkFolder } from "@/lib/backup/check-folder";
import { BackupFault } from "@/lib/backup/fault";
import { keyFromText } from "@/lib/backup/key";
import { refuseContent, restoreBackup, type Restored } from "@/lib/backup/restore";
import { noteTried } from "@/lib/backup/tried";
import { takeLock } from "@/lib/cli/lock.mjs";
import { Refusal, run } from "@/lib/cli/refusal.mjs";
import { FAULTS, inWords, placeSaid, restoredInWords } from "@/lib/cli/said";
import { applyTombstones } from "@/lib/records/tombstones";

const [from = ""] = process.argv.slice(2);
const startedAt = performance.now();

await run(async () => {
  process.umask(0o077);
  try {
    // Whoever serves this folder is named before its content is.
    if (existsSync(join(dataDir(), "lock"))) (await takeLock(dataDir())).release();
    refuseContent(dataDir());
    const key = keyFromText(process.env["BACKUP_KEY"] || await typedLine());
    const lock = await takeLock(dataDir());
    try {
      await tell(await restoreBackup(from, dataDir(), key, applyTombstones, Date.now()), key);
    } finally {
      lock.release();
    }
  } catch (error) {
    const said = error instanceof BackupFault ? FAULTS[error.fault] : placeSaid(error);
    throw said === null ? error : new Refusal(said);
  }
});

async function tell(restored: Restored, key: Buffer): Promise<void> {
  markNow();
  database().$client.close();
  const checked = await checkFolder(dataDir(), Date.now());
  const seconds = (performance.now() - startedAt) / 1000;
  for (const line of [...restoredInWords(restored, dataDir(), seconds), ...inWords(checked)]) process.stdout.write(`${line}\n`);
  if (checked.findings.length > 0) process.exitCode = 1;
  else if (!noteTried(from, key, Date.now())) process.stdout.write("That it was tried could not be written beside the backups, so the practice does not know of it.\n");
}

async function typedLine(): Promise<string> {
  for await (const line of createInterface({ input: process.stdin })) return line;
  return "";
}
