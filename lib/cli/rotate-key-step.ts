/** What `npm run rotate-key` does once it holds the folder. */
import { database, dataDir } from "@/db/client";
import { migrateDatabase } from "@/db/migrate";
import { Refusal, run } from "@/lib/cli/refusal.mjs";
import { orPlaceSaid } from "@/lib/cli/said";
import { OutsideKeyRefused, readKeyFile } from "@/lib/media/secrets";
import { rotateKey } from "@/lib/records/rotate-key";

const [file] = process.argv.slice(2);

await run(async () => {
  const db = database();
  try {
    migrateDatabase(db);
    const { files, unopened } = await orPlaceSaid(() => rotateKey(db, dataDir(), Date.now(), file ? readKeyFile(file) : undefined));
    process.stdout.write(`The practice key is a new one, and ${files} files open by it alone. Make a backup now: those before it ${file ? "open by" : "hold"} the key before.\n`);
    if (file) process.stdout.write(`It is in no backup and not in the data folder: set MEDIA_KEY_FILE to ${file} and keep a copy of that file elsewhere. Keep the file before, if there was one, for 35 days, as long as backups need it.\n`);
    if (unopened === 0) return;
    process.stderr.write(`${unopened} files are damaged and open by no key: npm run verify names them.\n`);
    process.exitCode = 1;
  } catch (error) {
    throw error instanceof OutsideKeyRefused ? new Refusal(error.message) : error;
  } finally {
    db.$client.close();
  }
});
