/**
 * npm run verify [-- --json]
 *
 * Looks through the data folder, whether the server runs or not, and changes nothing: the audit chain and its
 * mark, the database's own checks, every file against its row. Exit code 1 when anything was found.
 */
import { Refusal, run } from "./refusal.mjs";
import { readSettings } from "./settings.mjs";
import { refuseEmpty, runCommand } from "./step.mjs";

await run(async () => {
  const args = process.argv.slice(2);
  if (args.some((arg) => arg !== "--json") || args.length > 1) throw new Refusal("npm run verify [-- --json]");
  const { dataDir, bucket } = readSettings(process.env);
  refuseEmpty(dataDir);
  await runCommand("verify-step.ts", args, { DATA_DIR: dataDir, ...bucket });
});
