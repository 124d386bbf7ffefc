import "server-only";
import { createHmac } from "node:crypto";
import { readFileSync, renameSync, writeFileSync } from "node:fs";
import { basename, dirname, join } from "node:path";
import { z } from "zod";
import { isName } from "@/lib/backup/folder";

const FILE = "restore-tried";
const Tried = z.object({ at: z.number(), mac: z.string() });

/**
 * Beside the backups, that one of them was put back and was whole: the practice learns of it with its next backup, wherever it was
 * tried. Signed with the backups' key. A folder that cannot be written, as a copy on a read-only disk, is left as it is; says which.
 */
export function noteTried(from: string, key: Buffer, at: number): boolean {
  const path = join(isName(basename(from)) ? dirname(from) : from, FILE);
  try {
    writeFileSync(`${path}.new`, `${JSON.stringify({ at, mac: macOf(key, at) })}\n`, { mode: 0o600 });
    renameSync(`${path}.new`, path);
    return true;
  } catch {
    return false;
  }
}

/** When a restore from these backups was last seen to be whole (UTC ms); null when never, or nobody with the key said so. */
export function readTried(folder: string, key: Buffer): number | null {
  try {
    const { at, mac } = Tried.parse(JSON.parse(readFileSync(join(folder, FILE), "utf8")));
    return mac === macOf(key, at) ? at : null;
  } catch {
    return null;
  }
}

const macOf = (key: Buffer, at: number): string => createHmac("sha256", key).update(`trueside restore tried\0${at}`).digest("hex");
