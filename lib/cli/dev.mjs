/** npm run dev: the same data folder and settings under Next's development server, for this machine only. */
import { spawn } from "node:child_process";
import { join } from "node:path";
import { makeReady, root, say } from "./ready.mjs";
import { Refusal, run } from "./refusal.mjs";
import { isLoopback } from "./settings.mjs";

await run(async () => {
  const { settings, lock } = await makeReady(process.env, async () => {});
  if (!isLoopback(settings.host)) throw new Refusal("The development server serves this machine only: unset HOST.");
  const args = [join(root, "node_modules/next/dist/bin/next"), "dev", "-H", settings.host, "-p", String(settings.port)];
  const child = spawn(process.execPath, args, { env: { ...process.env, NODE_ENV: "development" }, stdio: "inherit" });
  say(`Development server at ${settings.publicUrl.origin}`);
  process.on("SIGTERM", () => child.kill("SIGTERM")).on("SIGINT", () => {});
  child.once("close", (code) => {
    lock.release();
    process.exit(code ?? 1);
  });
});
