/**
 * npm run rotate-key [-- NEW_KEY_FILE]
 *
 * With the server stopped: makes a new practice key, wraps the key of every photo and spoken note by it, and takes
 * the one before out of the folder. Cut off at any moment, everything still opens and the next run goes on. Where the key is kept
 * outside the data folder, or is to be from now on, NEW_KEY_FILE holds the new one.
 */
import { resolve } from "node:path";
import { takeLock } from "./lock.mjs";
import { Refusal, run } from "./refusal.mjs";
import { readKeyPath, readSettings } from "./settings.mjs";
import { refuseEmpty, runCommand } from "./step.mjs";

await run(async () => {
  const [file, ...more] = process.argv.slice(2);
  if (more.length > 0 || file?.startsWith("-")) throw new Refusal("npm run rotate-key [-- NEW_KEY_FILE]: DATA_DIR says which folder.");
  const { dataDir, bucket } = readSettings(process.env);
  if (file) readKeyPath(resolve(file), "NEW_KEY_FILE", dataDir);
  refuseEmpty(dataDir);
  const lock = await takeLock(dataDir);
  try {
    await runCommand("rotate-key-step.ts", file ? [resolve(file)] : [], { DATA_DIR: dataDir, ...bucket });
  } finally {
    lock.release();
  }
});
