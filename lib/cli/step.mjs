import { spawn } from "node:child_process";
import { existsSync } from "node:fs";
import { join } from "node:path";
import { giveBack } from "./give-back.mjs";
import { root, RUNNER } from "./ready.mjs";
import { Refusal } from "./refusal.mjs";

/** Refuses a folder without a practice, instead of making one. @param {string} dataDir */
export function refuseEmpty(dataDir) {
  if (!existsSync(join(dataDir, "kind"))) throw new Refusal(`${dataDir} holds no practice: set DATA_DIR to the practice's folder.`);
}

/**
 * Runs a command's TypeScript part in a process of its own, which speaks for itself, and ends as that ends.
 * @param {string} file in `lib/cli`
 * @param {readonly string[]} args
 * @param {Record<string, string>} env
 */
export async function runCommand(file, args, env) {
  const child = spawn(process.execPath, [...RUNNER, join(root, "lib/cli", file), ...args], { cwd: root, env: { ...process.env, ...env }, stdio: "inherit" });
  const pass = (signal) => child.kill(signal);
  process.on("SIGTERM", pass).on("SIGINT", pass);
  process.exitCode = await new Promise((resolve) => child.once("close", (code) => resolve(code ?? 1)));
  if (env.DATA_DIR) giveBack(env.DATA_DIR);
}
