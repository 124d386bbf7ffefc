import "server-only";
import { inArray, isNull, ne } from "drizzle-orm";
import type { Database } from "@/db/client";
import { childExports } from "@/db/schema/exports";
import { mediaFiles } from "@/db/schema/photos";
import { appendAudit } from "@/lib/audit/append";
import { keyIdOf } from "@/lib/media/frames";
import { openStoreUnder, practiceKeys } from "@/lib/media/practice-store";
import { beginKeyChange, beginOutsideChange, endKeyChange, endOutsideChange, keyChangeTo, OutsideKeyRefused } from "@/lib/media/secrets";
import { MediaError, type MediaStore } from "@/lib/media/store";
import { letGo } from "@/lib/records/export-files";

/**
 * A new practice key for every file of a data folder that nobody serves. Each file opens by the key before or the
 * new one all the while, so that it may be cut off and begun again. `unopened` are damaged: no key opens them. `next` is
 * one that is kept outside the folder; without it the new one is made and kept there. For lib/cli alone: an act of whoever
 * holds the machine. Throws `OutsideKeyRefused`.
 */
export async function rotateKey(db: Database, dataDir: string, now: number, next?: Buffer): Promise<{ readonly files: number; readonly unopened: number }> {
  const underWay = keyChangeTo(dataDir);
  if (underWay !== null && underWay !== (next ? keyIdOf(next) : null)) throw new OutsideKeyRefused("A change to another practice key was cut off: name that key's file again, npm run rotate-key -- NEW_KEY_FILE, so that every file opens by it first.");
  if (next) return outside(db, dataDir, now, next);
  if (process.env["MEDIA_KEY_FILE"]) throw new OutsideKeyRefused("The practice key is kept outside the data folder: make another file of 32 random bytes beside it and name that, npm run rotate-key -- NEW_KEY_FILE.");
  beginKeyChange(dataDir, keyIdOf);
  const keys = practiceKeys(dataDir);
  const done = await rewrapAll(db, openStoreUnder(dataDir, keys));
  writeDown(db, keyIdOf(keys.current), now);
  endKeyChange(dataDir);
  return done;
}

async function outside(db: Database, dataDir: string, now: number, next: Buffer): ReturnType<typeof rotateKey> {
  const { current, earlier = [] } = practiceKeys(dataDir);
  if (keyIdOf(current) === keyIdOf(next)) throw new OutsideKeyRefused(keyChangeTo(dataDir) === null ? "This is the practice key already: make another file of 32 random bytes and name that." : "The change is not done: MEDIA_KEY_FILE has to name the key before until it is.");
  beginOutsideChange(dataDir, keyIdOf(next));
  const done = await rewrapAll(db, openStoreUnder(dataDir, { current: next, earlier: [current, ...earlier] }));
  writeDown(db, keyIdOf(next), now);
  endOutsideChange(dataDir);
  return done;
}

/** Those of the rows first, since a bucket's list may lag behind and the key before goes; then what has no row yet, or no longer. */
async function rewrapAll(db: Database, store: MediaStore): ReturnType<typeof rotateKey> {
  let [files, unopened] = [0, 0];
  const rewrap = async (fileId: string): Promise<void> => {
    try {
      await store.rewrap(fileId);
      files += 1;
    } catch (error) {
      if (!(error instanceof MediaError) || error.fault === "disk-full" || error.fault === "unreachable") throw error;
      // A file that is gone has no key to open it by.
      if (error.fault !== "missing") unopened += 1;
    }
  };
  const known = new Set(db.select({ fileId: mediaFiles.fileId }).from(mediaFiles).all().map(({ fileId }) => fileId));
  for (const fileId of known) await rewrap(fileId);
  for await (const { fileId } of store.list()) if (!known.has(fileId)) await rewrap(fileId);
  return { files, unopened };
}

function writeDown(db: Database, keyId: string, now: number): void {
  db.transaction((tx) => {
    // Sealed under the key before, and made anew in a minute.
    for (const { id } of tx.select({ id: childExports.id }).from(childExports).where(isNull(childExports.goneAt)).all()) letGo(tx, id, now);
    tx.update(mediaFiles).set({ keyId }).where(ne(mediaFiles.keyId, keyId)).run();
    appendAudit(tx, { at: now, actorId: null, role: null, act: "media-key.changed-at-machine", objectId: keyId, familyId: null, outcome: "done", requestId: null, sessionHash: null });
  }, { behavior: "immediate" });
}

/**
 * Why the practice's key cannot be the one of this folder, or null. Rows name the key their files are wrapped by: a wrong one
 * would be found out photo by photo, and what arrives meanwhile would be under it. Some files of another key are
 * damage, for `npm run verify` to name; none of this one is another practice's key.
 */
export function keyRefused(db: Database, dataDir: string): string | null {
  if (keyChangeTo(dataDir) !== null) return "A change of the practice key was cut off, and some files open by the new one alone. Run it again with both keys, npm run rotate-key -- NEW_KEY_FILE, and then start.";
  const { current, earlier = [] } = practiceKeys(dataDir);
  const known = db.select({ keyId: mediaFiles.keyId }).from(mediaFiles).where(inArray(mediaFiles.keyId, [current, ...earlier].map(keyIdOf))).limit(1).get();
  const isEmpty = db.select({ keyId: mediaFiles.keyId }).from(mediaFiles).limit(1).get() === undefined;
  return known || isEmpty ? null : "This practice key opens none of the photos in the data folder: it is another practice's, or from before it was changed. Put the right one in its place and start again; nothing was changed.";
}
