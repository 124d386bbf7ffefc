import "server-only";
import { BackupFault } from "@/lib/backup/fault";
import { backupsIn, dropBackup, dropMedia, instantOf, readManifest, type BackupFolder } from "@/lib/backup/folder";
import { isClockDoubtful, keptBackups } from "@/lib/domain/backup/kept-backups";

/**
 * Takes away the backups that are not to be kept, and the files that none of the others names. Held while the
 * clock is in doubt; and no file goes while one backup that stays cannot be read.
 */
export async function prune(folder: BackupFolder, now: number): Promise<{ readonly dropped: number; readonly isPruneHeld: boolean }> {
  const names = await backupsIn(folder.path);
  const madeAt = names.map(instantOf);
  if (isClockDoubtful(madeAt, now)) return { dropped: 0, isPruneHeld: true };
  const kept = keptBackups(madeAt, now);
  const gone = names.filter((name) => !kept.has(instantOf(name)));
  for (const name of gone) await dropBackup(folder, name);
  if (gone.length > 0) {
    const named = await namedBy(folder, names.filter((name) => !gone.includes(name)));
    if (named === null) return { dropped: gone.length, isPruneHeld: true };
    await dropMedia(folder, named);
  }
  return { dropped: gone.length, isPruneHeld: false };
}

async function namedBy(folder: BackupFolder, names: readonly string[]): Promise<ReadonlySet<string> | null> {
  const named = new Set<string>();
  for (const name of names) {
    try {
      for (const { sha256 } of (await readManifest(folder, name)).media) named.add(sha256);
    } catch (error) {
      if (error instanceof BackupFault) return null;
      throw error;
    }
  }
  return named;
}
