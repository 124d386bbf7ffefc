/**
 * npm run restore -- BACKUP FOLDER
 *
 * Puts a backup into FOLDER, which must be empty or not there, and checks it; its media into the bucket that is set, which
 * must be empty too, else into FOLDER. BACKUP is a folder of backups, then
 * the newest is meant, or one backup in it. The key is read from BACKUP_KEY, else from the first line typed. Exit
 * code 1: nothing was restored, or what was restored is not whole; it says which.
 */
import { mkdirSync } from "node:fs";
import { resolve } from "node:path";
import { root, say } from "./ready.mjs";
import { Refusal, run } from "./refusal.mjs";
import { readSettings } from "./settings.mjs";
import { runCommand } from "./step.mjs";

await run(async () => {
  const [from, to, ...more] = process.argv.slice(2);
  if (!from || !to || more.length > 0) throw new Refusal("Name the backup and an empty folder: npm run restore -- BACKUP FOLDER");
  if (!process.env.BACKUP_KEY && process.stdin.isTTY) say("Type the backups' key:");
  const dataDir = resolve(to);
  if (resolve(from) === dataDir) throw new Refusal("BACKUP and FOLDER are the same: name an empty folder.");
  if (root.startsWith(`${dataDir}/`)) throw new Refusal("FOLDER holds this program: name an empty folder.");
  const { bucket } = readSettings({ ...process.env, DATA_DIR: dataDir, BACKUP_DIR: "" });
  mkdirSync(dataDir, { recursive: true, mode: 0o700 });
  await runCommand("restore-step.ts", [resolve(from)], { DATA_DIR: dataDir, ...bucket });
});
