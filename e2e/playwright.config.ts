import { mkdtempSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { defineConfig, devices } from "@playwright/test";
import { freePort } from "@/e2e/walk/port";

const root = fileURLToPath(new URL("..", import.meta.url));

// Read again by every worker, so what is chosen here is handed down in the environment.
process.env["E2E_PORT"] ??= String(await freePort());
process.env["E2E_DATA_DIR"] ??= mkdtempSync(join(tmpdir(), "trueside-e2e-"));
const port = process.env["E2E_PORT"];
const origin = `http://localhost:${port}`;

const isRoot = process.getuid?.() === 0;
const browser = process.env["CHROMIUM_PATH"];
/** Chromium has no sandbox for root; the rest keeps it from calling home, which a closed network answers slowly. */
const args = [
  ...(isRoot ? ["--no-sandbox"] : []),
  // A microphone that beeps and is always allowed: nothing of the room, and nobody to ask.
  "--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream",
  "--disable-background-networking", "--disable-component-update", "--disable-sync", "--no-first-run", "--disable-quic",
];

/** The server's own tests fill its gate on purpose, and a person would be turned away meanwhile. */
const BEFORE = ["proofs", "server"];

export default defineConfig({
  testDir: ".",
  globalSetup: "./journey/pristine-demo.ts",
  outputDir: join(root, "test-results"),
  // One more than a small machine has cores: many journeys wait for a clock of the product, not for the machine.
  workers: 3,
  retries: 0,
  forbidOnly: true,
  // Long, because a limit must catch what never comes and not what comes slowly on a busy machine.
  timeout: 180_000,
  expect: { timeout: 20_000 },
  reporter: [["list"]],
  use: {
    baseURL: origin,
    actionTimeout: 30_000,
    locale: "en-GB",
    timezoneId: "Europe/Vienna",
    // Kept for every test it takes a tenth of the time of all: asked for when one has failed.
    trace: process.env["TRACE"] ? "retain-on-failure" : "off",
    launchOptions: { args, ...(browser ? { executablePath: browser } : {}) },
  },
  // They begin in this order. The longest file of the first stands alone before the others: begun last, it would keep one worker busy and let two stand idle.
  projects: [
    { name: "proofs", testMatch: /\/server-proofs\.spec\.ts$/ },
    { name: "server", testMatch: /\/(server|access)[^/]*\.spec\.ts$/, testIgnore: /\/server-proofs\.spec\.ts$/ },
    { name: "journeys", testMatch: /\/journey[^/]*\.spec\.ts$/, dependencies: BEFORE },
    { name: "phone", dependencies: BEFORE, testMatch: /\/screens\.spec\.ts$/, timeout: 300_000, use: { ...devices["Pixel 7"], viewport: { width: 390, height: 844 } } },
    { name: "desktop", dependencies: BEFORE, testMatch: /\/screens\.spec\.ts$/, timeout: 300_000, use: { ...devices["Desktop Chrome"], viewport: { width: 1280, height: 800 } } },
  ],
  webServer: {
    command: `"${process.execPath}" lib/cli/start.mjs`,
    cwd: root,
    url: `${origin}/api/health`,
    env: { PORT: port, DATA_DIR: process.env["E2E_DATA_DIR"] },
    timeout: 300_000,
    reuseExistingServer: false,
    gracefulShutdown: { signal: "SIGTERM", timeout: 25_000 },
  },
});
