import "server-only";
import { existsSync, readdirSync, statSync } from "node:fs";
import { rm, writeFile } from "node:fs/promises";
import { basename, dirname, join, resolve } from "node:path";
import { and, isNull } from "drizzle-orm";
import { database, type Database } from "@/db/client";
import { migrateDatabase } from "@/db/migrate";
import { challenges, invitations, sessions, signInCodes } from "@/db/schema/sign-in";
import { appendAudit } from "@/lib/audit/append";
import { readErased } from "@/lib/backup/erased";
import { BackupFault } from "@/lib/backup/fault";
import { backupsIn, isName, openToRead, readManifest, readMedia, restoreDatabase, type BackupFolder } from "@/lib/backup/folder";
import { keepBackupKey } from "@/lib/backup/key";
import type { Erased, Manifest } from "@/lib/backup/manifest.schema";
import { writeRestoredState } from "@/lib/backup/state";
import { makeFolder, syncFolder, writeSynced } from "@/lib/media/durable";
import { keyIdOf } from "@/lib/media/frames";
import { openPracticeStore } from "@/lib/media/practice-store";
import { leavePlace, PLACE_MARKS, PlaceFault, settlePlace } from "@/lib/media/place";
import { OutsideKeyRefused, readKeyFile } from "@/lib/media/secrets";
import { MediaError, type MediaStore } from "@/lib/media/store";

export type Restored = {
  readonly name: string;
  readonly takenAt: number;
  readonly isDemo: boolean;
  readonly files: number;
  readonly bytes: number;
  /** Files that the practice had lost before the backup was made. */
  readonly lost: number;
  /** What was erased since, and was erased again. */
  readonly erasedAgain: number;
  readonly sessionsEnded: number;
};

/** Erases again whatever these name; gives how many of them found something. */
export type ApplyErased = (db: Database, store: MediaStore, erased: readonly Erased[], now: number) => Promise<number>;

/** What the restorer itself may have put there before: its lock. */
const OURS = /^(?:lock(?:-journal|\.pid)?|lost\+found)$/;

/** Refuses a folder with anything in it. Throws `BackupFault`. */
export function refuseContent(dataDir: string): void {
  if (!existsSync(dataDir)) return;
  const isEmpty = statSync(dataDir).isDirectory() && readdirSync(dataDir).every((name) => name === "lost+found");
  if (!isEmpty) throw new BackupFault("target-not-empty");
}

/**
 * Puts a backup into an empty folder that this process holds and `DATA_DIR` names, its media into an empty bucket where one is set: `from` is a folder of backups,
 * then the newest is meant, or one backup in it. Every byte is checked on the way; anything wrong and the folder is
 * empty again. What was erased since is erased once more, nobody is signed in any more, and only then the folder
 * says what it is, so that half of a restored practice can never be served. Throws `BackupFault`.
 */
export async function restoreBackup(from: string, dataDir: string, key: Buffer, applyErased: ApplyErased, now: number): Promise<Restored> {
  try {
    const { folder, name } = await chosen(resolve(from), key);
    const manifest = await readManifest(folder, name);
    // Read before anything is written: a list that cannot be trusted must stop it all.
    const erased = await trustedErased(folder);
    refuseWithoutKey(manifest);
    await putKeys(dataDir, manifest, key);
    await restoreDatabase(folder, name, manifest, join(dataDir, "trueside.db"));
    await settlePlace(dataDir);
    const store = openPracticeStore(dataDir);
    const bytes = await putMedia(folder, manifest, store);
    const db = database();
    migrateDatabase(db);
    const erasedAgain = await applyErased(db, store, erased, now);
    const sessionsEnded = endSignIns(db, name, now);
    db.$client.pragma("wal_checkpoint(TRUNCATE)");
    writeRestoredState(dataDir, { at: now, takenAt: manifest.takenAt });
    const isDemo = manifest.kind === "demo";
    if (isDemo) await writeFile(join(dataDir, "demo-seeded"), "");
    await writeSynced(join(dataDir, "kind"), Buffer.from(`${manifest.kind}\n`));
    await syncFolder(dataDir);
    return { name, takenAt: manifest.takenAt, isDemo, files: manifest.media.length, bytes, lost: manifest.lost.length, erasedAgain, sessionsEnded };
  } catch (error) {
    await emptyBucket(dataDir);
    await empty(dataDir);
    throw error;
  }
}

async function chosen(path: string, key: Buffer): Promise<{ readonly folder: BackupFolder; readonly name: string }> {
  if (isName(basename(path))) return { folder: await openToRead(dirname(path), key), name: basename(path) };
  const folder = await openToRead(path, key);
  const name = (await backupsIn(path)).at(-1);
  if (!name) throw new BackupFault("no-backup");
  return { folder, name };
}

/** No shorter than when the newest backup was made, or something erased would come back unseen. */
async function trustedErased(folder: BackupFolder): Promise<readonly Erased[]> {
  const erased = await readErased(folder);
  const newest = (await backupsIn(folder.path)).at(-1);
  const least = newest ? await readManifest(folder, newest).then((manifest) => manifest.erased, () => 0) : 0;
  if (erased.length < least) throw new BackupFault("erased-damaged");
  return erased;
}

/** Where the practice key was kept outside its folder, it is in no backup: found out before anything is written. */
function refuseWithoutKey({ keys, media }: Manifest): void {
  const path = process.env["MEDIA_KEY_FILE"];
  if ("mediaKey" in keys) {
    if (path) throw new BackupFault("practice-key-inside");
    return;
  }
  if (!path) throw new BackupFault("practice-key");
  try {
    const keyId = keyIdOf(readKeyFile(path));
    if (media.length === 0 || media.some((each) => each.keyId === keyId)) return;
  } catch (error) {
    if (!(error instanceof OutsideKeyRefused)) throw error;
  }
  throw new BackupFault("practice-key");
}

async function putKeys(dataDir: string, manifest: Manifest, key: Buffer): Promise<void> {
  await makeFolder(join(dataDir, "keys"));
  for (const [name, value] of Object.entries(manifest.keys)) await writeSynced(join(dataDir, "keys", name), Buffer.from(value, "base64"));
  await syncFolder(join(dataDir, "keys"));
  // Where a setting alone held it, it stays off the disk.
  if (manifest.keepsKey) keepBackupKey(dataDir, key);
}

async function putMedia(folder: BackupFolder, { media }: Manifest, store: MediaStore): Promise<number> {
  let bytes = 0;
  for (const { fileId, sha256 } of media) {
    const file = await readMedia(folder, sha256);
    await store.putSealed(fileId, file);
    bytes += file.length;
  }
  return bytes;
}

/**
 * What ended since the backup would be open again: a sign-out, an invitation that was used or taken back. So
 * all of it ends, and people sign in anew. Access that was ended since is not known here: a person must look.
 */
function endSignIns(db: Database, name: string, now: number): number {
  return db.transaction((tx) => {
    const ended = tx.update(sessions).set({ endedAt: now }).where(isNull(sessions.endedAt)).run().changes;
    tx.update(signInCodes).set({ usedAt: now }).where(isNull(signInCodes.usedAt)).run();
    tx.update(invitations).set({ revokedAt: now }).where(and(isNull(invitations.usedAt), isNull(invitations.revokedAt))).run();
    tx.update(challenges).set({ usedAt: now }).where(isNull(challenges.usedAt)).run();
    appendAudit(tx, { at: now, actorId: null, role: null, act: "practice.restored", objectId: name, familyId: null, outcome: "done", requestId: null, sessionHash: null });
    return ended;
  }, { behavior: "immediate" });
}

/** Only what this restore claimed; where the bucket no longer answers, it stays refused until a person empties it. */
async function emptyBucket(dataDir: string): Promise<void> {
  if (!PLACE_MARKS.some((mark) => existsSync(join(dataDir, mark)))) return;
  try {
    const store = openPracticeStore(dataDir);
    for await (const { fileId } of store.list()) await store.erase(fileId);
    await leavePlace(dataDir);
  } catch (error) {
    if (!(error instanceof MediaError || error instanceof PlaceFault)) throw error;
  }
}

async function empty(dataDir: string): Promise<void> {
  if (!existsSync(dataDir)) return;
  for (const name of readdirSync(dataDir)) if (!OURS.test(name)) await rm(join(dataDir, name), { recursive: true, force: true });
}
