import "server-only";
import { createHmac } from "node:crypto";
import { open, readFile } from "node:fs/promises";
import { join } from "node:path";
import { BackupFault } from "@/lib/backup/fault";
import { parse, type BackupFolder } from "@/lib/backup/folder";
import { ErasedSchema, type Erased } from "@/lib/backup/manifest.schema";
import { codeOf, syncFolder } from "@/lib/media/durable";

const FILE = "erased";

/**
 * What was ever erased, a line each, beside the backups and read by every restore: an erasure is newer than the
 * backups it must count for. Random ids, kinds and dates, only ever added to. Each line is signed with the backup's
 * key, so that nobody without it can have a restore erase something. Gives how many there are.
 */
export async function appendErased(folder: BackupFolder, erased: readonly Erased[]): Promise<number> {
  const known = new Set((await readErased(folder)).map(({ kind, id }) => `${kind} ${id}`));
  const fresh = erased.filter(({ kind, id }) => !known.has(`${kind} ${id}`));
  if (fresh.length === 0) return known.size;
  const file = await open(join(folder.path, FILE), "a+", 0o600);
  try {
    const { size } = await file.stat();
    const last = Buffer.alloc(1);
    if (size > 0) await file.read(last, 0, 1, size - 1);
    // A line that a crash cut short ends here, and is not counted.
    const begin = size > 0 && last.toString("latin1") !== "\n" ? "\n" : "";
    await file.appendFile(begin + fresh.map((each) => `${JSON.stringify({ ...bare(each), mac: macOf(folder, each) })}\n`).join(""));
    await file.sync();
  } finally {
    await file.close();
  }
  await syncFolder(folder.path);
  return known.size + fresh.length;
}

/** A line that was cut short says nothing: its erasure is written again from the database. Throws `BackupFault` for one that is not ours. */
export async function readErased(folder: BackupFolder): Promise<readonly Erased[]> {
  const text = await readFile(join(folder.path, FILE), "utf8").catch((error: unknown) => {
    if (codeOf(error) === "ENOENT") return "";
    throw error;
  });
  return text.split("\n").filter((line) => /^\{.*\}$/.test(line)).map((line) => {
    const { mac, ...erased } = parse(ErasedSchema, line, "erased-damaged");
    if (mac !== macOf(folder, erased)) throw new BackupFault("erased-damaged");
    return erased;
  });
}

const bare = ({ id, kind, erasedAt }: Erased): Erased => ({ id, kind, erasedAt });

const macOf = ({ key }: BackupFolder, { id, kind, erasedAt }: Erased): string =>
  createHmac("sha256", key).update(`trueside erased\0${kind}\0${id}\0${erasedAt}`).digest("hex");
