import "server-only";
import { eq, isNull } from "drizzle-orm";
import { database, dataDir } from "@/db/client";
import { alarms, alarmsSeen } from "@/db/schema/alarms";
import { backupFacts, readCheckState } from "@/lib/backup/state";
import { backupStanding, isWell } from "@/lib/domain/backup/standing";
import { practiceStore } from "@/lib/media/practice-store";
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

/** Whether a photo could be kept now: the database takes a write, its disk has room, and the media take a file. */
export async function isReady(): Promise<boolean> {
  if (!isDatabaseWritable() || isDiskLow()) return false;
  try {
    return await practiceStore().isReady();
  } catch {
    // Without its keys, or another place than the settings say: nothing can be kept.
    return false;
  }
}
