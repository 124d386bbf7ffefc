import "server-only";
import { asc, eq } from "drizzle-orm";
import type { Database } from "@/db/client";
import { erasedFiles, tombstones } from "@/db/schema/erasure";
import { appendAudit } from "@/lib/audit/append";
import { isUnreachable, type MediaStore } from "@/lib/media/store";
import { exportStore } from "@/lib/records/export-files";
import { eraseRows, type Tombstone } from "@/lib/records/erasing";

/** Everything that was ever erased here, oldest first: random ids, kinds and dates. */
export const readTombstones = (db: Database): readonly Tombstone[] =>
  db.select().from(tombstones).orderBy(asc(tombstones.erasedAt), asc(tombstones.id)).all();

/**
 * Erases from a database and its media whatever these tombstones name; what is not there is no error. For a
 * restored folder, before anybody is served from it, with `DATA_DIR` naming that folder: its keys say which wrong
 * codes were an erased person's. Gives how many of them found something.
 */
export async function applyTombstones(db: Database, store: MediaStore, stones: readonly Tombstone[], now: number): Promise<number> {
  let found = 0;
  for (const stone of stones) {
    db.transaction((tx) => {
      if (eraseRows(tx, [stone]).length === 0) return;
      found += 1;
      appendAudit(tx, {
        at: now, actorId: null, role: null, act: `${stone.kind}.erased-again`, objectId: stone.id, familyId: null, outcome: "done", requestId: null, sessionHash: null,
      });
    }, { behavior: "immediate" });
  }
  await finishErasing(db, store);
  return found;
}

/**
 * Takes the files of what was erased away, then empties the write-ahead log, which still holds the rows
 * as they were. Called after each erasure, at start and now and then: a crash in between loses nothing of it.
 * False when a reader held the log, or a file could not be reached; the next time tries again.
 */
export async function finishErasing(db: Database, store: MediaStore): Promise<boolean> {
  let isReached = true;
  for (const { fileId } of db.select().from(erasedFiles).all()) {
    await exportStore().erase(fileId);
    isReached &&= await store.erase(fileId).then(() => true, unlessUnreachable);
    if (isReached) db.delete(erasedFiles).where(eq(erasedFiles.fileId, fileId)).run();
  }
  const [checkpoint] = db.$client.pragma("wal_checkpoint(TRUNCATE)") as readonly { readonly busy: number }[]; // as SQLite documents it
  return isReached && checkpoint?.busy === 0;
}

function unlessUnreachable(error: unknown): false {
  if (isUnreachable(error)) return false;
  throw error;
}
