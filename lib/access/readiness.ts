import "server-only";
import { database, dataDir } from "@/db/client";
import { backupFacts, readCheckState } from "@/lib/backup/state";
import { backupStanding, isWell } from "@/lib/domain/backup/standing";

/**
 * Whether the database takes a durable write now. Writing a header field its own value again is a real
 * commit, synced to the disk, and changes nothing.
 */
export function isDatabaseWritable(): boolean {
  try {
    const client = database().$client;
    const same: unknown = client.pragma("application_id", { simple: true });
    client.pragma(`application_id = ${Number(same)}`);
    return true;
  } catch {
    // Full, read-only, damaged or locked: all the same to whoever asks.
    return false;
  }
}

/** `backup` only where the app is told to make them; `sound` only when it is not. */
export function upkeep(now: number): { readonly backup?: boolean; readonly sound?: false } {
  const standing = backupStanding(backupFacts(dataDir()), now);
  const findings = readCheckState(dataDir())?.findings ?? 0;
  return { ...(standing === "off" ? {} : { backup: isWell(standing) }), ...(findings > 0 ? { sound: false as const } : {}) };
}
