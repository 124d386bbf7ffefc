import { spawnSync } from "node:child_process";
import { existsSync } from "node:fs";
import { Refusal } from "./refusal.mjs";

const VARIABLES = ["CHROMIUM_PATH", "PLAYWRIGHT_CHROMIUM_EXECUTABLE_PATH", "CHROME_PATH", "CHROME_BIN"];
/** Chromium without its windows comes first: the tests open none, and it leaves more of the machine to them. */
const USUAL_PATHS = [
  "/usr/bin/chromium-headless-shell",
  "/usr/bin/chromium",
  "/usr/bin/chromium-browser",
  "/usr/bin/google-chrome-stable",
  "/usr/bin/google-chrome",
  "/snap/bin/chromium",
  "/Applications/Chromium.app/Contents/MacOS/Chromium",
  "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
];
const DOWNLOAD_MS = 180_000;
const PACKAGE_MS = 300_000;

/**
 * The browser the tests drive: one named by the environment, else one on this machine, else one
 * installed now. Refuses with one sentence when there is none.
 * @param {NodeJS.ProcessEnv} env
 * @param {(line: string) => void} say
 * @returns {Promise<string>} path of an executable that has answered `--version`
 */
export async function findBrowser(env, say) {
  const named = VARIABLES.find((name) => env[name]);
  if (named) {
    if (answers(env[named])) return env[named];
    throw new Refusal(`${named}=${env[named]} does not run: correct or unset it.`);
  }
  const { chromium } = await import("@playwright/test");
  const found = [...USUAL_PATHS, chromium.executablePath()].find(answers);
  if (found) return found;
  say("Installing a browser for the tests …");
  spawnSync(process.execPath, ["node_modules/@playwright/test/cli.js", "install", "chromium"], { stdio: "ignore", timeout: DOWNLOAD_MS });
  if (answers(chromium.executablePath())) return chromium.executablePath();
  if (process.getuid?.() === 0) {
    const apt = (...args) => spawnSync("apt-get", args, { stdio: "ignore", timeout: PACKAGE_MS, env: { ...env, DEBIAN_FRONTEND: "noninteractive" } });
    apt("update");
    for (const name of ["chromium-headless-shell", "chromium"]) if (!USUAL_PATHS.some(answers)) apt("install", "-y", "--no-install-recommends", name);
    const packaged = USUAL_PATHS.find(answers);
    if (packaged) return packaged;
  }
  throw new Refusal("No browser for the tests was found and none could be installed: install Chromium, or set CHROMIUM_PATH to one.");
}

/** @param {string} path */
function answers(path) {
  return existsSync(path) && spawnSync(path, ["--version"], { stdio: "ignore", timeout: 20_000 }).status === 0;
}
