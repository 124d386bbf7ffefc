/** `off`: the app is not told to make any; `no-key`: nobody has made the first one by hand; `incomplete`: files of the practice are lost. */
export type BackupStanding = "off" | "no-key" | "good" | "late" | "failed" | "incomplete";

export type BackupFacts = {
  readonly isScheduled: boolean;
  /** When the newest backup was last known to hold everything (UTC ms); null when never. */
  readonly currentAt: number | null;
  /** Why the last try failed. */
  readonly fault: string | null;
  readonly lost: number;
};

/** A backup is due after a quarter of an hour: one that was missed, and the time to make it. */
const LATE_MS = 30 * 60_000;

export function backupStanding({ isScheduled, currentAt, fault, lost }: BackupFacts, now: number): BackupStanding {
  if (!isScheduled) return "off";
  if (fault === "key-missing") return "no-key";
  if (fault !== null) return "failed";
  // A moment to come is a clock that was set back since, and proves nothing.
  if (currentAt === null || now - currentAt > LATE_MS || currentAt - now > LATE_MS) return "late";
  return lost > 0 ? "incomplete" : "good";
}

export const isWell = (standing: BackupStanding): boolean => standing === "good" || standing === "off";
