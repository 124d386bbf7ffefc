import "server-only";
import { mkdirSync, rmSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { eq, isNull } from "drizzle-orm";
import { database, dataDir } from "@/db/client";
import { alarms, alarmsSeen } from "@/db/schema/alarms";
import { backupFacts, readCheckState } from "@/lib/backup/state";
import { backupStanding, isWell } from "@/lib/domain/backup/standing";
import { isDiskLow } from "@/lib/media/space";

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

/** `backup` only where the app is told to make them; `sound` only when it is not; `alarm` while a lead has not seen to one. */
export function upkeep(now: number): { readonly backup?: boolean; readonly sound?: false; readonly alarm?: true } {
  const standing = backupStanding(backupFacts(dataDir()), now);
  const findings = readCheckState(dataDir())?.findings ?? 0;
  return { ...(standing === "off" ? {} : { backup: isWell(standing) }), ...(findings > 0 ? { sound: false as const } : {}), ...(isAlarmOpen() ? { alarm: true as const } : {}) };
}

const isAlarmOpen = (): boolean =>
  database().select({ id: alarms.id }).from(alarms).leftJoin(alarmsSeen, eq(alarmsSeen.alarmId, alarms.id)).where(isNull(alarmsSeen.seenAt)).limit(1).get() !== undefined;

/** In the folder of files being written, which whoever lists media passes over, and a start clears. */
const PROBE = "0".repeat(32);

/** Whether a photo could be kept now: the database takes a write, the media folder a file, and the disk has room. */
export function isReady(): boolean {
  if (!isDatabaseWritable() || isDiskLow()) return false;
  const probe = join(dataDir(), "media", "unfinished", PROBE);
  try {
    mkdirSync(dirname(probe), { recursive: true, mode: 0o700 });
    writeFileSync(probe, "", { mode: 0o600, flush: true });
    rmSync(probe, { force: true });
    return true;
  } catch {
    // Gone, read-only, full or not ours: all the same to whoever asks.
    return false;
  }
}
