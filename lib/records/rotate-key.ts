import "server-only";
import { isNull, ne } from "drizzle-orm";
import type { Database } from "@/db/client";
import { childExports } from "@/db/schema/exports";
import { mediaFiles } from "@/db/schema/photos";
import { appendAudit } from "@/lib/audit/append";
import { keyIdOf } from "@/lib/media/frames";
import { openPracticeStore } from "@/lib/media/practice-store";
import { beginKeyChange, endKeyChange, openSecrets } from "@/lib/media/secrets";
import { MediaError } from "@/lib/media/store";
import { letGo } from "@/lib/records/export-files";

/**
 * A new practice key for every file of a data folder that nobody serves. Each file opens by the key before or the
 * new one all the while, so that it may be cut off and begun again. `unopened` are damaged: no key opens them. For lib/cli alone: an act of whoever holds the machine.
 */
export async function rotateKey(db: Database, dataDir: string, now: number): Promise<{ readonly files: number; readonly unopened: number }> {
  beginKeyChange(dataDir, keyIdOf);
  const store = openPracticeStore(dataDir);
  let [files, unopened] = [0, 0];
  for await (const { fileId } of store.list()) {
    try {
      await store.rewrap(fileId);
      files += 1;
    } catch (error) {
      if (!(error instanceof MediaError) || error.fault === "disk-full" || error.fault === "unreachable") throw error;
      unopened += 1;
    }
  }
  const keyId = keyIdOf(openSecrets(dataDir).mediaKey);
  db.transaction((tx) => {
    // Sealed under the key before, and made anew in a minute.
    for (const { id } of tx.select({ id: childExports.id }).from(childExports).where(isNull(childExports.goneAt)).all()) letGo(tx, id, now);
    tx.update(mediaFiles).set({ keyId }).where(ne(mediaFiles.keyId, keyId)).run();
    appendAudit(tx, { at: now, actorId: null, role: null, act: "media-key.changed-at-machine", objectId: keyId, familyId: null, outcome: "done", requestId: null, sessionHash: null });
  }, { behavior: "immediate" });
  endKeyChange(dataDir);
  return { files, unopened };
}
