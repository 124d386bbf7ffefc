import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium, type Browser } from "@playwright/test";
import { startOwn } from "@/e2e/own-server";
import { freePort } from "@/e2e/walk/port";
import { findBrowser } from "@/lib/cli/browser.mjs";

/** Serves a demo of its own and opens a browser while `work` runs. */
export async function withDemo<T>(work: (browser: Browser, origin: string) => Promise<T>): Promise<T> {
  const dataDir = mkdtempSync(join(tmpdir(), "trueside-bench-"));
  const port = String(await freePort());
  const server = startOwn({ PORT: port, DATA_DIR: dataDir, DEMO: "1" });
  const browser = await chromium.launch({ executablePath: await findBrowser(process.env, () => {}), args: process.getuid?.() === 0 ? ["--no-sandbox"] : [] });
  try {
    if (!(await server.ready)) throw new Error(`not serving: ${(await server.ended).err}`);
    return await work(browser, `http://localhost:${port}`);
  } finally {
    await browser.close();
    server.process.kill("SIGTERM");
    await server.ended;
    rmSync(dataDir, { recursive: true, force: true });
  }
}
