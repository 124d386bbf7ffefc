import "server-only";
import { createHash } from "node:crypto";
import { open, readdir, readFile, rename, rm, stat } from "node:fs/promises";
import { dirname, join } from "node:path";
import { z } from "zod";
import { BackupFault } from "@/lib/backup/fault";
import { AboutSchema, ManifestSchema, type Manifest } from "@/lib/backup/manifest.schema";
import { codeOf, makeFolder, namesIn, syncFolder, writeSynced } from "@/lib/media/durable";
import { keyIdOf, seal, sealedLength, unseal } from "@/lib/media/frames";
import { MediaError } from "@/lib/media/store";

/**
 * A folder of backups:
 *
 *   about.json       which key, which practice
 *   erased           what was erased, for `lib/backup/erased.ts`
 *   media/ab/abcd…   files as they lie in the media folder, named by their hash there, written once
 *   2026-11-27T21-15-00-000Z/{manifest,database}   one backup
 *   unfinished/      what a crash left; taken away by the next backup
 *
 * Everything but the first two is sealed with the backup's key, each file bound to its own name, so that none
 * can stand in for another.
 */
const ABOUT = "about.json";
const UNFINISHED = "unfinished";
const NAME = /^\d{4}-\d\d-\d\dT\d\d-\d\d-\d\d-\d{3}Z$/;
/** Of a database, sealed at once. */
const PART = 4 * 1024 * 1024;

export type BackupFolder = { readonly path: string; readonly key: Buffer };

/** For writing: an empty folder becomes one of backups of this practice. Throws `BackupFault`. */
export async function openToWrite(path: string, key: Buffer, practice: string): Promise<BackupFolder> {
  const about = { version: 1, keyId: keyIdOf(key), practice } as const;
  await makeFolder(path);
  const names = (await readdir(path)).filter((name) => name !== "lost+found");
  if (names.length === 0) await writeWhole(path, ABOUT, Buffer.from(`${JSON.stringify(about)}\n`));
  else if ((await aboutOf(path, key)).practice !== about.practice) throw new BackupFault("folder-other-practice");
  return { path, key };
}

/** For restoring. Throws `BackupFault`. */
export async function openToRead(path: string, key: Buffer): Promise<BackupFolder> {
  await aboutOf(path, key);
  return { path, key };
}

async function aboutOf(path: string, key: Buffer) {
  const text = await readFile(join(path, ABOUT), "utf8").catch(notThere("folder-foreign"));
  const about = parse(AboutSchema, text, "folder-foreign");
  if (about.keyId !== keyIdOf(key)) throw new BackupFault("key-wrong");
  return about;
}

export const nameOf = (takenAt: number): string => new Date(takenAt).toISOString().replace(/[:.]/g, "-");
export const isName = (name: string): boolean => NAME.test(name);
export const instantOf = (name: string): number => Date.parse(name.replace(/T(\d\d)-(\d\d)-(\d\d)-(\d+)Z/, "T$1:$2:$3.$4Z"));

/** Oldest first. */
export const backupsIn = async (path: string): Promise<readonly string[]> => (await namesIn(path)).filter(isName).sort();

export async function clearUnfinished({ path }: BackupFolder): Promise<void> {
  await rm(join(path, UNFINISHED), { recursive: true, force: true });
}

/** Writes one backup's own two files aside; it exists from the moment its folder has its name. */
export async function writeBackup(folder: BackupFolder, name: string, databaseFile: string, manifest: Omit<Manifest, "database">): Promise<void> {
  const aside = join(folder.path, UNFINISHED, name);
  await makeFolder(aside);
  const database = await sealDatabase(folder, name, databaseFile, join(aside, "database"));
  await writeSynced(join(aside, "manifest"), seal(Buffer.from(JSON.stringify({ ...manifest, database } satisfies Manifest)), `${name}/manifest`, folder.key));
  await syncFolder(aside);
  await rename(aside, join(folder.path, name));
  await syncFolder(folder.path);
}

/** Throws `BackupFault` when it is missing, damaged or from a later version of this program. */
export async function readManifest(folder: BackupFolder, name: string): Promise<Manifest> {
  const sealed = await readFile(join(folder.path, name, "manifest")).catch(notThere("file-missing"));
  const opened = await openSealed(folder, sealed, `${name}/manifest`);
  const version: unknown = (JSON.parse(opened.toString("utf8")) as { readonly version?: unknown }).version; // sealed by us, so it is JSON
  if (version !== 1) throw new BackupFault("version-unknown");
  return parse(ManifestSchema, opened.toString("utf8"), "file-damaged");
}

async function sealDatabase(folder: BackupFolder, name: string, from: string, to: string): Promise<Manifest["database"]> {
  const [source, target] = [await open(from, "r"), await open(to, "wx", 0o600)];
  const hash = createHash("sha256");
  let byteLength = 0;
  try {
    for (let part = 0; ; part += 1) {
      const { buffer, bytesRead } = await source.read(Buffer.alloc(PART), 0, PART, part * PART);
      if (bytesRead === 0) break;
      const plain = buffer.subarray(0, bytesRead);
      hash.update(plain);
      byteLength += bytesRead;
      await target.writeFile(seal(plain, `${name}/database/${part}`, folder.key));
    }
    await target.sync();
  } finally {
    await source.close();
    await target.close();
  }
  return { byteLength, sha256: hash.digest("hex") };
}

/** Writes the database of one backup out. Throws `BackupFault` unless every byte is the one that was backed up. */
export async function restoreDatabase(folder: BackupFolder, name: string, { database }: Manifest, to: string): Promise<void> {
  const sealed = await open(join(folder.path, name, "database"), "r").catch(notThere("file-missing"));
  const target = await open(to, "wx", 0o600);
  const hash = createHash("sha256");
  const sealedPart = sealedLength(PART);
  try {
    for (let part = 0; part * PART < database.byteLength; part += 1) {
      const { buffer, bytesRead } = await sealed.read(Buffer.alloc(sealedPart), 0, sealedPart, part * sealedPart);
      const plain = await openSealed(folder, buffer.subarray(0, bytesRead), `${name}/database/${part}`);
      hash.update(plain);
      await target.writeFile(plain);
    }
    const [{ size }, { size: written }] = [await sealed.stat(), await target.stat()];
    const parts = Math.ceil(database.byteLength / PART);
    const isAll = written === database.byteLength && size <= parts * sealedPart && hash.digest("hex") === database.sha256;
    if (!isAll) throw new BackupFault("file-damaged");
    await target.sync();
  } finally {
    await sealed.close();
    await target.close();
  }
}

const mediaPath = (sha256: string): string => join("media", sha256.slice(0, 2), sha256);

/** Whether a file is in the folder, as long as it should be. */
export async function hasMedia(folder: BackupFolder, { sha256, byteLength }: { readonly sha256: string; readonly byteLength: number }): Promise<boolean> {
  return stat(join(folder.path, mediaPath(sha256))).then(({ size }) => size === sealedLength(byteLength), (error: unknown) => {
    if (codeOf(error) === "ENOENT") return false;
    throw error;
  });
}

export const writeMedia = (folder: BackupFolder, sha256: string, file: Buffer): Promise<void> =>
  writeWhole(folder.path, mediaPath(sha256), seal(file, mediaPath(sha256), folder.key));

/** A file as it lay in the media folder. Throws `BackupFault` when it is missing or not what it was. */
export async function readMedia(folder: BackupFolder, sha256: string): Promise<Buffer> {
  const sealed = await readFile(join(folder.path, mediaPath(sha256))).catch(notThere("file-missing"));
  const file = await openSealed(folder, sealed, mediaPath(sha256));
  if (createHash("sha256").update(file).digest("hex") !== sha256) throw new BackupFault("file-damaged");
  return file;
}

/** As `hasMedia`, and opened: not even a bit is another one. */
export async function hasWhole(folder: BackupFolder, media: { readonly sha256: string; readonly byteLength: number }): Promise<boolean> {
  if (!await hasMedia(folder, media)) return false;
  return readMedia(folder, media.sha256).then(() => true, (error: unknown) => {
    if (error instanceof BackupFault) return false;
    throw error;
  });
}

/** Takes away what no backup that is left names. */
export async function dropMedia(folder: BackupFolder, named: ReadonlySet<string>): Promise<number> {
  let dropped = 0;
  for (const first of await namesIn(join(folder.path, "media"))) {
    for (const name of await namesIn(join(folder.path, "media", first))) {
      if (named.has(name)) continue;
      await rm(join(folder.path, "media", first, name));
      dropped += 1;
    }
  }
  return dropped;
}

/** Under another name first: half of a backup must not look like one. */
export async function dropBackup(folder: BackupFolder, name: string): Promise<void> {
  const aside = join(folder.path, UNFINISHED, name);
  await makeFolder(dirname(aside));
  await rename(join(folder.path, name), aside);
  await syncFolder(folder.path);
  await rm(aside, { recursive: true });
}

async function writeWhole(folder: string, place: string, bytes: Buffer): Promise<void> {
  const [aside, path] = [join(folder, UNFINISHED, place.replaceAll("/", "-")), join(folder, place)];
  await makeFolder(dirname(aside));
  await makeFolder(dirname(path));
  await writeSynced(aside, bytes);
  await rename(aside, path);
  await syncFolder(dirname(path));
}

async function openSealed(folder: BackupFolder, sealed: Buffer, name: string): Promise<Buffer> {
  try {
    return await unseal({ length: sealed.length, readBytes: async (start, end) => sealed.subarray(start, end) }, name, { current: folder.key });
  } catch (error) {
    if (error instanceof MediaError) throw new BackupFault("file-damaged");
    throw error;
  }
}

/** What was written as JSON of a form, or a `BackupFault`. */
export function parse<T>(form: z.ZodType<T>, text: string, fault: BackupFault["fault"]): T {
  try {
    return form.parse(JSON.parse(text));
  } catch (error) {
    if (error instanceof SyntaxError || error instanceof z.ZodError) throw new BackupFault(fault);
    throw error;
  }
}

const notThere = (fault: BackupFault["fault"]) => (error: unknown): never => {
  throw ["ENOENT", "ENOTDIR"].includes(codeOf(error)) ? new BackupFault(fault) : error;
};
