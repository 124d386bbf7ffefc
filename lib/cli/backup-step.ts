/** What `npm run backup` does, and the app every quarter of an hour (`--scheduled`: then it makes no key and says nothing). */
import { existsSync, realpathSync } from "node:fs";
import { dirname, join, sep } from "node:path";
import { dataDir } from "@/db/client";
import { BackupFault } from "@/lib/backup/fault";
import { keyToText, openBackupKey } from "@/lib/backup/key";
import { readBackupState, writeBackupState } from "@/lib/backup/state";
import { readTried } from "@/lib/backup/tried";
import { takeBackup, type Taken } from "@/lib/backup/take";
import { takeBackupLock } from "@/lib/cli/lock.mjs";
import { run } from "@/lib/cli/refusal.mjs";
import { backedUpInWords, FAULTS, placeSaid } from "@/lib/cli/said";
import { PlaceFault } from "@/lib/media/place";

const [folder = "", form] = process.argv.slice(2);
const isScheduled = form === "--scheduled";
const say = (line: string): void => void (isScheduled || process.stdout.write(`${line}\n`));

await run(async () => {
  process.umask(0o077);
  const lock = await takeBackupLock(dataDir());
  const now = Date.now();
  const before = readBackupState(dataDir());
  try {
    const { taken, restoreTriedAt } = await take(now);
    writeBackupState(dataDir(), { madeAt: now, triedAt: now, fault: null, lost: taken.lost, restoreTriedAt });
    for (const line of backedUpInWords(taken, folder)) say(line);
    if (taken.lost > 0) process.exitCode = 2;
  } catch (error) {
    const code = error instanceof Error && "code" in error ? String(error.code) : "unknown";
    const fault = error instanceof BackupFault ? error.fault : error instanceof PlaceFault ? error.trouble : code;
    writeBackupState(dataDir(), { madeAt: before?.madeAt ?? null, triedAt: now, fault, lost: before?.lost ?? 0, restoreTriedAt: before?.restoreTriedAt });
    process.stderr.write(`${error instanceof BackupFault ? FAULTS[error.fault] : placeSaid(error) ?? `No backup was made (${code}).`}\n`);
    process.exitCode = 1;
  } finally {
    lock.release();
  }
});

async function take(now: number): Promise<{ readonly taken: Taken; readonly restoreTriedAt: number | null }> {
  refuseInside();
  const given = process.env["BACKUP_KEY"];
  if (isScheduled && !given && !existsSync(join(dataDir(), "keys", "backupKey"))) throw new BackupFault("key-missing");
  const key = openBackupKey(dataDir(), given);
  if (key.isNew) {
    say("The backups' key. Write it down and keep it away from this machine and from the backups: without it none can be opened, and it is not shown again.");
    say(keyToText(key.key));
  }
  return { taken: await takeBackup(dataDir(), folder, key, now), restoreTriedAt: readTried(folder, key.key) };
}

/** As the disk has it, whatever links lead there. */
function refuseInside(): void {
  const [data, backups] = [`${realpathSync(dataDir())}${sep}`, `${realOf(folder)}${sep}`];
  if (data.startsWith(backups) || backups.startsWith(data)) throw new BackupFault("folder-inside");
}

function realOf(path: string): string {
  return existsSync(path) ? realpathSync(path) : join(realOf(dirname(path)), path.slice(dirname(path).length));
}
