const EVERY_MS = 15 * 60_000;
const DAY_MS = 86_400_000;

export type BackupHistory = {
  /** When the newest backup was begun, and the last try (UTC ms); null before the first. */
  readonly madeAt: number | null;
  readonly triedAt: number | null;
  readonly hasFailed: boolean;
  /** Something was written since the newest backup, as far as is known. */
  readonly isChanged: boolean;
  /** Something was erased since: it should be on the list beside the backups before the disk can fail. */
  readonly isErased: boolean;
};

/** `due`: make one now; `current`: the newest holds everything; `waiting`: neither, but the next is soon enough. */
export function backupDue({ madeAt, triedAt, hasFailed, isChanged, isErased }: BackupHistory, now: number): "due" | "current" | "waiting" {
  const isOld = madeAt === null || now - madeAt >= DAY_MS || madeAt > now;
  if (!isChanged && !isOld && !hasFailed) return "current";
  if (isErased && !hasFailed) return "due";
  return triedAt === null || now - triedAt >= EVERY_MS || triedAt > now ? "due" : "waiting";
}
