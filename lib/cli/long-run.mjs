/**
 * npm run prove and npm run bench: installs and builds when needed, then runs the file named first with
 * the arguments after it, and ends as that ends.
 */
import { spawn } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { buildApp } from "./build-stamp.mjs";
import { installPackages } from "./install.mjs";
import { root, RUNNER, say } from "./ready.mjs";
import { run } from "./refusal.mjs";

await run(async () => {
  process.chdir(root);
  const logs = mkdtempSync(join(tmpdir(), "trueside-logs-"));
  try {
    await installPackages({ root, logs, say });
    await buildApp({ root, logs, say });
  } finally {
    rmSync(logs, { recursive: true, force: true });
  }
  const child = spawn(process.execPath, [...RUNNER, ...process.argv.slice(2)], { stdio: "inherit" });
  process.exitCode = await new Promise((resolve) => child.once("close", (code) => resolve(code ?? 1)));
});
