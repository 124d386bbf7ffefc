import "server-only";
import { existsSync, readFileSync, renameSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { z } from "zod";
import type { BackupFacts } from "@/lib/domain/backup/standing";

/** What the last backup came to; in the data folder, whoever started it. */
const BackupStateSchema = z.object({
  /** When the newest whole backup was begun (UTC ms); null before the first. */
  madeAt: z.number().nullable(),
  triedAt: z.number(),
  /** Why the last try failed; null when it did not. */
  fault: z.string().nullable(),
  /** Files that have a row and could not be backed up. */
  lost: z.number(),
  /** When one of these backups was last put back and found whole. */
  restoreTriedAt: z.number().nullable().optional(),
});
export type BackupState = z.infer<typeof BackupStateSchema>;

const CURRENT = Symbol.for("trueside.backup-current");
type Shared = { [CURRENT]?: number };

/** The newest backup was known to hold everything then: nothing had been written since. In this process alone. */
export function noteBackupCurrent(at: number): void {
  (globalThis as Shared)[CURRENT] = at; // a symbol of our own on the global object
}

/** How backups stand now, by the newest one and by what this process knows since. */
export function backupFacts(dataDir: string): BackupFacts & { readonly madeAt: number | null } {
  const state = readBackupState(dataDir);
  const noted = (globalThis as Shared)[CURRENT] ?? null; // as above
  const madeAt = state?.madeAt ?? null;
  return {
    isScheduled: Boolean(process.env["BACKUP_DIR"]), madeAt, fault: state?.fault ?? null, lost: state?.lost ?? 0,
    currentAt: noted === null || madeAt === null ? madeAt : Math.max(noted, madeAt),
  };
}

const CheckStateSchema = z.object({ at: z.number(), findings: z.number(), /** The audit chain or its end is not what was written. */ isHistoryBroken: z.boolean().optional() });
export type CheckState = z.infer<typeof CheckStateSchema>;

const RestoredSchema = z.object({ at: z.number(), takenAt: z.number() });
/** When this folder was restored, and as of when. */
export type RestoredState = z.infer<typeof RestoredSchema>;

const BACKUP = "backup-state.json";
const RESTORED = "restored-state.json";
const CHECK = "check-state.json";

export const readBackupState = (dataDir: string): BackupState | null => read(join(dataDir, BACKUP), BackupStateSchema);
export const readCheckState = (dataDir: string): CheckState | null => read(join(dataDir, CHECK), CheckStateSchema);
export const writeBackupState = (dataDir: string, state: BackupState): void => write(join(dataDir, BACKUP), state);
export const writeCheckState = (dataDir: string, state: CheckState): void => write(join(dataDir, CHECK), state);
export const readRestoredState = (dataDir: string): RestoredState | null => read(join(dataDir, RESTORED), RestoredSchema);
export const writeRestoredState = (dataDir: string, state: RestoredState): void => write(join(dataDir, RESTORED), state);

/** Unreadable is as good as none: it is written anew by the next backup or check. */
function read<T>(path: string, form: z.ZodType<T>): T | null {
  if (!existsSync(path)) return null;
  try {
    return form.parse(JSON.parse(readFileSync(path, "utf8")));
  } catch (error) {
    if (error instanceof SyntaxError || error instanceof z.ZodError) return null;
    throw error;
  }
}

function write(path: string, state: object): void {
  writeFileSync(`${path}.new`, JSON.stringify(state), { mode: 0o600 });
  renameSync(`${path}.new`, path);
}
