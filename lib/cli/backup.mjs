/**
 * npm run backup [-- FOLDER]
 *
 * Makes one backup of the data folder into FOLDER, or into BACKUP_DIR, whether the server runs or not. The first
 * one says the key it is sealed with, once. Exit code 1: no backup was made; 2: one was made, and the practice
 * has lost files that are not in it.
 */
import { resolve } from "node:path";
import { Refusal, run } from "./refusal.mjs";
import { readSettings } from "./settings.mjs";
import { refuseEmpty, runCommand } from "./step.mjs";

await run(async () => {
  const [folder = process.env.BACKUP_DIR, ...more] = process.argv.slice(2);
  if (!folder || folder.startsWith("-") || more.length > 0) throw new Refusal("Say where backups are kept: npm run backup -- FOLDER, or set BACKUP_DIR.");
  const { dataDir, bucket } = readSettings({ ...process.env, BACKUP_DIR: folder });
  refuseEmpty(dataDir);
  await runCommand("backup-step.ts", [resolve(folder)], { DATA_DIR: dataDir, ...bucket });
});
