import { lchownSync, lstatSync, readdirSync, statSync } from "node:fs";
import { join } from "node:path";

/**
 * What root wrote into somebody else's data folder becomes theirs: the server runs as that account and could not open it.
 * SQLite does so by itself with the files beside its database.
 * @param {string} dataDir
 */
export function giveBack(dataDir) {
  if (process.getuid?.() !== 0) return;
  const { uid, gid } = statSync(dataDir);
  if (uid !== 0) giveAll(dataDir, uid, gid);
}

function giveAll(path, uid, gid) {
  for (const name of readdirSync(path)) {
    const below = join(path, name);
    // Gone meanwhile: a server works beside us.
    const entry = lstatSync(below, { throwIfNoEntry: false });
    if (!entry) continue;
    if (entry.uid === 0) lchownSync(below, uid, gid);
    if (entry.isDirectory()) giveAll(below, uid, gid);
  }
}
