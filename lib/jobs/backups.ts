import "server-only";
import { database, dataDir } from "@/db/client";
import { appendAudit } from "@/lib/audit/append";
import { noteBackupCurrent, readBackupState } from "@/lib/backup/state";
import { backupDue } from "@/lib/domain/backup/due";
import { runCommand } from "@/lib/jobs/run-command";
import { runEvery } from "@/lib/jobs/run-every";

const LOOK_MS = 60_000;
/** A server that was restarted finds there what it wrote down before. */
const LOOKED_BACK = 1000;

/** Writing a backup down changes rows, and must be no reason for the next one. */
let ownChanges = 0;
let lastWritten: string | null = null;

/** What the database looked like when the newest backup of this process was begun. */
type Seen = { readonly changes: number; readonly erased: number };

/** Makes backups into `BACKUP_DIR`, if it is set: every quarter of an hour in which something was written, and once a day. */
export function startBackups(): void {
  runEvery("backup-noted", LOOK_MS, writeDownBackup);
  const folder = process.env["BACKUP_DIR"];
  if (!folder) return;
  runEvery("backup", LOOK_MS, backupLook(() => runCommand("backup-step.ts", [folder, "--scheduled"])));
}

/** One look: is a backup due, and then makes it. A restarted server knows of no changes and begins with one. */
export function backupLook(make: () => Promise<number>): (now: number) => Promise<void> {
  let kept: Seen | null = null;
  return async (now) => {
    const state = readBackupState(dataDir());
    const seen = look();
    const due = backupDue({
      madeAt: state?.madeAt ?? null, triedAt: kept === null && state?.fault === null ? null : state?.triedAt ?? null, hasFailed: state?.fault != null,
      isChanged: kept?.changes !== seen.changes, isErased: kept !== null && kept.erased !== seen.erased,
    }, now);
    if (due === "current") noteBackupCurrent(now);
    if (due !== "due") return;
    const startedAt = performance.now();
    const code = await make();
    const after = readBackupState(dataDir());
    // Another backup is being made: its end will show at the next look.
    if (after?.triedAt === state?.triedAt) return;
    const isMade = after?.fault === null;
    if (isMade) {
      kept = seen;
      noteBackupCurrent(now);
    }
    const line = { at: new Date().toISOString(), event: isMade ? "backup-made" : "backup-failed", code, ms: Math.round(performance.now() - startedAt) };
    process.stderr.write(`${JSON.stringify(isMade ? { ...line, lost: after.lost } : { ...line, fault: after?.fault })}\n`);
  };
}

/** In the audit, one made by hand beside the server too: each is a copy of everything. */
export function writeDownBackup(now: number): void {
  const madeAt = readBackupState(dataDir())?.madeAt ?? null;
  if (madeAt === null) return;
  const objectId = new Date(madeAt).toISOString();
  const isKnown = database().$client.prepare(`select 1 from (select act, object_id from audit_entries order by sequence desc limit ${LOOKED_BACK}) where act = 'backup.made' and object_id = ?`).get(objectId) !== undefined;
  if (isKnown || objectId === lastWritten) return;
  const before = allChanges();
  database().transaction((tx) => appendAudit(tx, { at: now, actorId: null, role: null, act: "backup.made", objectId, familyId: null, outcome: "done", requestId: null, sessionHash: null }), { behavior: "immediate" });
  lastWritten = objectId;
  ownChanges += allChanges() - before;
}

const allChanges = (): number => database().$client.prepare<[], number>("select total_changes()").pluck().get() ?? 0;

/** All writing is done by this process's one connection, which counts the rows it changed. */
function look(): Seen {
  const client = database().$client;
  return {
    changes: allChanges() - ownChanges,
    erased: client.prepare<[], number>("select count(*) from tombstones").pluck().get() ?? 0,
  };
}
