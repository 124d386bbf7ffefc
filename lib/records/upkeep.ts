import "server-only";
import { dataDir } from "@/db/client";
import type { PracticeGrant } from "@/lib/access/grant";
import { backupFacts, readBackupState, readCheckState, readRestoredState, type CheckState, type RestoredState } from "@/lib/backup/state";
import { backupStanding, type BackupStanding } from "@/lib/domain/backup/standing";
import { restoreTrial, type RestoreTrial } from "@/lib/domain/backup/trial";
import { isDiskLow } from "@/lib/media/space";

/** How long everybody at the desk is told that the practice was put back from a backup. */
const RESTORED_SHOWN_MS = 14 * 86_400_000;

export type Upkeep = { readonly trial: RestoreTrial; readonly triedAt: number | null; readonly standing: BackupStanding; readonly madeAt: number | null; readonly check: CheckState | null; readonly isDiskLow: boolean };

/** Whether backups are made, the data folder is sound and its disk has room, for the lead. */
export async function upkeepOf(_grant: PracticeGrant<"practice.settings">, now: number): Promise<Upkeep> {
  const facts = backupFacts(dataDir());
  const triedAt = readBackupState(dataDir())?.restoreTriedAt ?? null;
  return { trial: restoreTrial(triedAt, now), triedAt, standing: backupStanding(facts, now), madeAt: facts.madeAt, check: readCheckState(dataDir()), isDiskLow: isDiskLow() };
}

/** Within two weeks of a restore: since when what was recorded may be missing. Null otherwise. */
export async function restoredLately(_grant: PracticeGrant<"practice.read">, now: number): Promise<RestoredState | null> {
  const restored = readRestoredState(dataDir());
  return restored && Math.abs(now - restored.at) < RESTORED_SHOWN_MS ? restored : null;
}
