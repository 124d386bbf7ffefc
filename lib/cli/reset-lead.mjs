/**
 * npm run reset-lead -- ADDRESS
 *
 * For a practice lead who has lost every device and recovery code, run by whoever holds the machine while
 * the server is stopped: takes that lead's second step away, ends their sessions, and says the single-use
 * address behind which they set up a new one. Settings as for the start. The act is in the audit.
 */
import { existsSync } from "node:fs";
import { join } from "node:path";
import { openDataFolder } from "./data-folder.mjs";
import { giveBack } from "./give-back.mjs";
import { takeLock } from "./lock.mjs";
import { root, RUNNER, say } from "./ready.mjs";
import { Refusal, run } from "./refusal.mjs";
import { runStep } from "./run-step.mjs";
import { readSettings, settingsForApp } from "./settings.mjs";

await run(async () => {
  const [address, ...more] = process.argv.slice(2);
  if (!address || more.length > 0) throw new Refusal("Name the lead by the mail address they sign in with: npm run reset-lead -- ADDRESS");
  const settings = readSettings(process.env);
  if (!existsSync(join(settings.dataDir, "trueside.db"))) throw new Refusal(`${settings.dataDir} holds no practice: set DATA_DIR to the practice's folder.`);
  if (openDataFolder(settings.dataDir, settings.demo).isDemo) throw new Refusal("This is the demo, where nobody has a second step: sign in with a button.");
  const lock = await takeLock(settings.dataDir);
  try {
    Object.assign(process.env, settingsForApp(settings, false));
    process.chdir(root);
    process.umask(0o077);
    const said = await runStep({
      name: "reset-lead", logs: join(settings.dataDir, "logs"), isAnswer: true, command: process.execPath,
      args: [...RUNNER, join(root, "lib/cli/reset-lead-step.ts"), address],
      sentence: "Nothing was reset: the lines above say why.",
    });
    if (said.trim() === "") throw new Refusal("No practice lead with access has this mail address, so nothing was reset.");
    say(`Their second step is taken away. Start the server, and give the lead this address, to open once within a day, or the one that the start says, which then counts instead: ${said.trim()}`);
  } finally {
    giveBack(settings.dataDir);
    lock.release();
  }
});
