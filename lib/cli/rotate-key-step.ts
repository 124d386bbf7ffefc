/** What `npm run rotate-key` does once it holds the folder. */
import { database, dataDir } from "@/db/client";
import { migrateDatabase } from "@/db/migrate";
import { run } from "@/lib/cli/refusal.mjs";
import { orPlaceSaid } from "@/lib/cli/said";
import { rotateKey } from "@/lib/records/rotate-key";

await run(async () => {
  const db = database();
  migrateDatabase(db);
  const { files, unopened } = await orPlaceSaid(() => rotateKey(db, dataDir(), Date.now()));
  db.$client.close();
  process.stdout.write(`The practice key is a new one, and ${files} files open by it alone. Make a backup now: those before it hold the key before.\n`);
  if (unopened > 0) {
    process.stderr.write(`${unopened} files are damaged and open by no key: npm run verify names them.\n`);
    process.exitCode = 1;
  }
});
