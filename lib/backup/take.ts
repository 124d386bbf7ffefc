import "server-only";
import { createHash } from "node:crypto";
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { mkdir, rm } from "node:fs/promises";
import { join } from "node:path";
import Sqlite from "better-sqlite3";
import { openToRead } from "@/db/client";
import { chainEnd } from "@/lib/audit/chain";
import { checkDatabase, faultOf } from "@/lib/backup/check-folder";
import { appendErased } from "@/lib/backup/erased";
import { BackupFault } from "@/lib/backup/fault";
import { backupsIn, clearUnfinished, hasMedia, hasWhole, nameOf, openToWrite, readManifest, writeBackup, writeMedia, type BackupFolder } from "@/lib/backup/folder";
import { KEY_NAME, type Erased, type Manifest } from "@/lib/backup/manifest.schema";
import { prune } from "@/lib/backup/prune";
import { openPracticeStore } from "@/lib/media/practice-store";
import { isUnreachable } from "@/lib/media/store";

export type Taken = {
  readonly name: string;
  readonly files: number;
  /** Files that were not in the folder yet. */
  readonly added: number;
  readonly lost: number;
  readonly dropped: number;
  readonly isPruneHeld: boolean;
};

type Copy = {
  readonly media: readonly { readonly fileId: string; readonly byteLength: number; readonly sha256: string; readonly keyId: string }[];
  readonly erased: readonly Erased[];
  readonly counts: Readonly<Record<string, number>>;
  readonly audit: Manifest["audit"];
};

/** Where the database is copied to before it is sealed; beside it, never in the backup folder. */
const WORK = "backup-work";
const TRIES = 3;

/**
 * One backup of a data folder, served or not: the database by SQLite's own online copy, which is checked; every
 * file it names that the folder does not hold yet; the practice's keys; sealed with the backup's key. Then what is
 * no longer to be kept goes. For one process at a time. Throws `BackupFault`.
 */
export async function takeBackup(dataDir: string, path: string, { key, isKept }: { readonly key: Buffer; readonly isKept: boolean }, now: number): Promise<Taken> {
  const folder = await openToWrite(path, key, practiceIn(dataDir));
  await clearUnfinished(folder);
  const work = join(dataDir, WORK);
  try {
    const { copy, keys, media, added, lost } = await copyAll(dataDir, folder, work);
    const name = nameOf(now);
    const erased = await appendErased(folder, copy.erased);
    await writeBackup(folder, name, join(work, "copy.db"), {
      version: 1, takenAt: now, kind: readFileSync(join(dataDir, "kind"), "utf8").trim() === "real" ? "real" : "demo",
      keys, keepsKey: isKept, audit: copy.audit, counts: copy.counts, erased, media: [...media], lost: [...lost],
    });
    return { name, files: media.length, added, lost: lost.length, ...await prune(folder, now) };
  } catch (error) {
    // Half of the files would be called lost.
    if (isUnreachable(error)) throw new BackupFault("media-unreachable");
    throw error instanceof Error && "code" in error && ["ENOSPC", "EDQUOT", "SQLITE_FULL"].includes(String(error.code)) ? new BackupFault("disk-full") : error;
  } finally {
    await rm(work, { recursive: true, force: true });
  }
}

/** A file that goes between the copy and its turn was erased, and keys can change: then the copy is too old, and made again. */
async function copyAll(dataDir: string, folder: BackupFolder, work: string) {
  for (let tries = 1; ; tries += 1) {
    const keys = keysOf(dataDir);
    const copy = await copyDatabase(dataDir, work);
    const kept = await copyMedia(dataDir, folder, copy);
    const isOne = JSON.stringify(keysOf(dataDir)) === JSON.stringify(keys) && (kept.lost.length === 0 || stillNamed(dataDir, kept.lost));
    if (isOne || tries === TRIES) return { copy, keys, ...kept };
  }
}

async function copyDatabase(dataDir: string, work: string): Promise<Copy> {
  await rm(work, { recursive: true, force: true });
  await mkdir(work, { mode: 0o700 });
  const path = join(work, "copy.db");
  const source = openToRead(join(dataDir, "trueside.db"));
  try {
    // All at once: a server's next write would have a copy in pieces begin again, and again.
    await source.backup(path, { progress: () => 0x7fffffff });
  } finally {
    source.close();
  }
  const copy = new Sqlite(path);
  try {
    copy.pragma("journal_mode = DELETE");
    checkDatabase(copy, () => {
      throw new BackupFault("database-damaged");
    });
    return readCopy(copy);
  } finally {
    copy.close();
  }
}

function readCopy(copy: Sqlite.Database): Copy {
  const tables = copy.prepare<[], string>("select name from sqlite_schema where type = 'table' and name not like 'sqlite_%' order by name").pluck().all();
  const counts = Object.fromEntries(tables.map((table) => [table, Number(copy.prepare(`select count(*) from "${table}"`).pluck().get())]));
  return {
    media: copy.prepare<[], Copy["media"][number]>("select file_id as fileId, byte_length as byteLength, sha256, key_id as keyId from media_files order by file_id").all(),
    erased: tables.includes("tombstones") ? copy.prepare<[], Erased>("select id, kind, erased_at as erasedAt from tombstones order by erased_at").all() : [],
    counts, audit: chainEnd(copy),
  };
}

/** What the newest backup names is there already and is not read again: should it rot here, it is whole there. */
async function copyMedia(dataDir: string, folder: BackupFolder, copy: Copy) {
  const before = await newestMedia(folder);
  const store = openPracticeStore(dataDir);
  const media: Manifest["media"] = [];
  const lost: string[] = [];
  let added = 0;
  for (const row of copy.media) {
    const known = before.get(row.fileId);
    // Wrapped by another key since, it is another file.
    if (known?.keyId === row.keyId && await hasMedia(folder, known)) {
      media.push(known);
      continue;
    }
    // Opened first, so that no backup holds a file which nobody could open.
    if (await faultOf(store, row)) {
      lost.push(row.fileId);
      continue;
    }
    const file = await store.readSealed(row.fileId);
    const sha256 = createHash("sha256").update(file).digest("hex");
    const kept = { sha256, byteLength: file.length };
    media.push({ fileId: row.fileId, ...kept, keyId: row.keyId });
    // There from a backup that was cut off.
    if (await hasWhole(folder, kept)) continue;
    await writeMedia(folder, sha256, file);
    added += 1;
  }
  return { media, lost, added };
}

async function newestMedia(folder: BackupFolder): Promise<ReadonlyMap<string, Manifest["media"][number]>> {
  for (const name of (await backupsIn(folder.path)).toReversed()) {
    try {
      return new Map((await readManifest(folder, name)).media.map((each) => [each.fileId, each]));
    } catch (error) {
      // A damaged one is passed over: its files are written anew where no other names them.
      if (!(error instanceof BackupFault)) throw error;
    }
  }
  return new Map();
}

function stillNamed(dataDir: string, fileIds: readonly string[]): boolean {
  const client = openToRead(join(dataDir, "trueside.db"));
  try {
    const named = client.prepare("select 1 from media_files where file_id = ?");
    return fileIds.every((fileId) => named.get(fileId));
  } finally {
    client.close();
  }
}

/** Every key but the backup's own. */
function keysOf(dataDir: string): Record<string, string> {
  const folder = join(dataDir, "keys");
  if (!existsSync(folder)) return {};
  const names = readdirSync(folder).filter((name) => KEY_NAME.test(name) && name !== "backupKey").sort();
  return Object.fromEntries(names.map((name) => [name, readFileSync(join(folder, name)).toString("base64")]));
}

/** Names the practice whatever its keys are; the same in every copy of its folder. */
function practiceIn(dataDir: string): string {
  const client = openToRead(join(dataDir, "trueside.db"));
  try {
    const id = client.prepare<[], string>("select id from practices order by created_at, id").pluck().get() ?? "";
    return createHash("sha256").update("trueside practice\0").update(id).digest("hex").slice(0, 16);
  } finally {
    client.close();
  }
}
