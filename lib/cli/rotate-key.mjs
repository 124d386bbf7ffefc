/**
 * npm run rotate-key
 *
 * With the server stopped: makes a new practice key, wraps the key of every photo and spoken note by it, and takes
 * the one before out of the folder. Cut off at any moment, everything still opens and the next run goes on.
 */
import { takeLock } from "./lock.mjs";
import { Refusal, run } from "./refusal.mjs";
import { readSettings } from "./settings.mjs";
import { refuseEmpty, runCommand } from "./step.mjs";

await run(async () => {
  if (process.argv.length > 2) throw new Refusal("npm run rotate-key takes nothing: DATA_DIR says which folder.");
  const { dataDir, bucket } = readSettings(process.env);
  refuseEmpty(dataDir);
  const lock = await takeLock(dataDir);
  try {
    await runCommand("rotate-key-step.ts", [], { DATA_DIR: dataDir, ...bucket });
  } finally {
    lock.release();
  }
});
