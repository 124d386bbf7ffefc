import { existsSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { isDemoSeeded, openDataFolder } from "./data-folder.mjs";
import { installPackages } from "./install.mjs";
import { refuseBusyPort } from "./listen.mjs";
import { takeLock } from "./lock.mjs";
import { checkNode } from "./node-version.mjs";
import { runStep } from "./run-step.mjs";
import { readSettings, refusePublicDemo, settingsForApp } from "./settings.mjs";

export const root = fileURLToPath(new URL("../..", import.meta.url));

/** Progress goes to standard error, so that standard output holds the one line with the address. */
export const say = (line) => process.stderr.write(`${line}\n`);

/**
 * From a fresh clone to a data folder that can be served: Node checked, settings read, packages
 * installed, the folder held, the app built when `build` does that, the database migrated, a new demo
 * filled. The settings stand in `process.env` afterwards.
 * @param {NodeJS.ProcessEnv} env
 * @param {(where: { root: string, logs: string, say: typeof say }) => Promise<void>} build
 */
export async function makeReady(env, build) {
  const warning = checkNode(process.versions.node, new Date());
  if (warning) say(warning);
  const settings = readSettings(env);
  const { isDemo } = openDataFolder(settings.dataDir, settings.demo);
  if (isDemo) refusePublicDemo(settings);
  await refuseBusyPort(settings.host, settings.port);
  const where = { root, logs: join(settings.dataDir, "logs"), say };
  await installPackages(where);
  const lock = await takeLock(settings.dataDir);
  await build(where);
  Object.assign(process.env, settingsForApp(settings, isDemo));
  process.chdir(root);
  // From here on what is written belongs to families: readable by this account alone.
  process.umask(0o077);
  if (isDemo && !isDemoSeeded(settings.dataDir)) say("Filling the demo (half a minute, the first time only) …");
  const leadAddress = await prepare(where.logs);
  if (settings.backupDir && !env.BACKUP_KEY && !existsSync(join(settings.dataDir, "keys", "backupKey"))) {
    say("No backups are made yet: run npm run backup once, and write down the key that it says.");
  }
  if (leadAddress) say(`Practice lead: open this address once to set up your sign-in: ${leadAddress}`);
  return { settings, isDemo, lock };
}

/** @param {string} logs @returns {Promise<string>} the lead's single-use set-up address, or nothing */
async function prepare(logs) {
  const said = await runStep({
    name: "prepare",
    logs,
    isAnswer: true,
    command: process.execPath,
    args: [...RUNNER, join(root, "lib/cli/prepare.ts")],
    sentence: "The data folder could not be made ready: the lines above say why.",
  });
  return said.trim();
}

/** The one way TypeScript runs outside Next. */
export const RUNNER = ["--import", new URL("runner.mjs", import.meta.url).href];
