import { readFileSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { Refusal } from "./refusal.mjs";

/**
 * Takes the data folder for this process, or refuses with one sentence. Whoever writes there holds it.
 *
 * The lock is SQLite's own on a file of its own: the system drops it when its holder dies however it
 * dies, so none is ever stale, two starters cannot both take it, and it holds between containers that
 * share a disk, where process numbers mean nothing. The number in `lock.pid` is for people only.
 * @param {string} dataDir
 * @returns {Promise<{ release(): void }>}
 */
export async function takeLock(dataDir) {
  const lock = await hold(join(dataDir, "lock"));
  if (!lock) throw new Refusal(`Another process${holder(dataDir)} is using ${dataDir}: stop it first, or set DATA_DIR to another folder.`);
  writeFileSync(join(dataDir, "lock.pid"), `${process.pid}\n`);
  return {
    release() {
      rmSync(join(dataDir, "lock.pid"), { force: true });
      lock.close();
    },
  };
}

/** One backup of a folder at a time, beside whoever serves it. @param {string} dataDir */
export async function takeBackupLock(dataDir) {
  const lock = await hold(join(dataDir, "backup-lock"));
  if (!lock) throw new Refusal("Another backup of this folder is being made: wait until it is done.");
  return { release: () => void lock.close() };
}

/** @param {string} file @returns {Promise<import("better-sqlite3").Database | null>} null while another process holds it */
async function hold(file) {
  // Loaded late: this file is read before the packages are installed.
  const { default: Database } = await import("better-sqlite3");
  const lock = new Database(file, { timeout: 0 });
  try {
    lock.exec("BEGIN EXCLUSIVE");
    return lock;
  } catch (error) {
    lock.close();
    if (error?.code !== "SQLITE_BUSY") throw error;
    return null;
  }
}

/** @param {string} dataDir */
function holder(dataDir) {
  try {
    return ` (${Number.parseInt(readFileSync(join(dataDir, "lock.pid"), "utf8"), 10)})`;
  } catch {
    return "";
  }
}
