/**
 * npm test: everything, from a fresh clone, ending with one line `N passed, N failed` (`, N skipped`).
 * Installs, finds a browser, then types, lint, build, unit and property tests, journeys. The type check
 * and the lint count as one test each. Exit code 1 on any failure, or when nothing ran.
 */
import { spawn } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { findBrowser } from "./browser.mjs";
import { buildApp } from "./build-stamp.mjs";
import { compileSqlite, fetchPackages } from "./install.mjs";
import { checkNode } from "./node-version.mjs";
import { root, say } from "./ready.mjs";
import { Refusal, run } from "./refusal.mjs";
import { addUp, countPlaywright, countVitest, lastLine } from "./test-count.mjs";

const PASSED = { passed: 1, failed: 0, skipped: 0 };
const FAILED = { passed: 0, failed: 1, skipped: 0 };
const aside = mkdtempSync(join(tmpdir(), "trueside-test-"));

await run(async () => {
  process.chdir(root);
  const warning = checkNode(process.versions.node, new Date());
  if (warning) say(warning);
  const where = { root, logs: join(aside, "logs"), say };
  try {
    await fetchPackages(where);
    // The compiler takes a minute of one processor; types, lint, the build and the browser's installation need no SQLite.
    const [, browser, [checked, isBuilt]] = await Promise.all([compileSqlite(where), findBrowser(process.env, say), checkAndBuild(where)]);
    const total = addUp([...checked, await unit(), isBuilt ? await journeys(browser) : FAILED]);
    process.stdout.write(`${lastLine(total)}\n`);
    process.exitCode = total.failed > 0 || total.passed === 0 ? 1 : 0;
  } finally {
    rmSync(aside, { recursive: true, force: true });
  }
});

/** @param {{ root: string, logs: string, say: typeof say }} where */
async function checkAndBuild(where) {
  return /** @type {const} */ ([[await types(), await lint()], await build(where)]);
}

async function types() {
  say("Types …");
  const isMade = (await node("next/dist/bin/next", ["typegen"])) === 0;
  return isMade && (await node("typescript/bin/tsc", ["--noEmit", "-p", "."])) === 0 ? PASSED : FAILED;
}

async function lint() {
  say("Lint …");
  return (await node("oxlint/bin/oxlint", [])) === 0 ? PASSED : FAILED;
}

async function unit() {
  say("Unit, property, contract and record tests …");
  const report = join(aside, "vitest.json");
  const code = await node("vitest/vitest.mjs", ["run", "-c", "tests/vitest.config.ts", "--reporter=default", "--reporter=json", `--outputFile.json=${report}`]);
  return countVitest(read(report), code);
}

/** @param {{ root: string, logs: string, say: typeof say }} where @returns {Promise<boolean>} */
async function build(where) {
  try {
    await buildApp(where);
    return true;
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    say(error.message);
    return false;
  }
}

/** @param {string} browser */
async function journeys(browser) {
  say("Journeys in a browser …");
  const report = join(aside, "playwright.json");
  const env = { CHROMIUM_PATH: browser, E2E_DATA_DIR: join(aside, "data"), PLAYWRIGHT_JSON_OUTPUT_NAME: report };
  const code = await node("@playwright/test/cli.js", ["test", "-c", "e2e/playwright.config.ts", "--reporter=list,json"], env);
  return countPlaywright(read(report), code);
}

/** Runs a tool of this project with its output shown. @returns {Promise<number>} its exit code */
function node(tool, args, env = {}) {
  const child = spawn(process.execPath, [join(root, "node_modules", tool), ...args], { env: { ...process.env, ...env }, stdio: ["ignore", "inherit", "inherit"] });
  return new Promise((resolve) => {
    child.once("error", () => resolve(1));
    child.once("close", (code) => resolve(code ?? 1));
  });
}

/** @param {string} report */
function read(report) {
  return existsSync(report) ? JSON.parse(readFileSync(report, "utf8")) : null;
}
