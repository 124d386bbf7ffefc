import { createHash } from "node:crypto";
import { existsSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync } from "node:fs";
import { join, relative } from "node:path";
import { runStep } from "./run-step.mjs";

/** What a build is made from. */
const SOURCES = ["app", "lib", "db", "proxy.ts", "instrumentation.ts", "next.config.mjs", "tsconfig.json", "package-lock.json"];

/**
 * Builds the app unless the build at hand was made from these very sources.
 * @param {{ root: string, logs: string, say: (line: string) => void }} where
 */
export async function buildApp({ root, logs, say }) {
  const stamp = join(root, ".next", "built-from");
  const sources = hashSources(root);
  if (existsSync(stamp) && readFileSync(stamp, "utf8") === `${sources} ${buildId(root)}`) return;
  say("Building (only when the sources changed) …");
  rmSync(stamp, { force: true });
  await runStep({
    name: "build", logs, command: process.execPath, args: [join(root, "node_modules/next/dist/bin/next"), "build"],
    env: { ...process.env, NODE_ENV: "production", NEXT_TELEMETRY_DISABLED: "1" },
    sentence: "The app could not be built: the lines above say why.",
  });
  await bundleWorker({ root, logs, id: buildId(root), later: offlineFiles(root), to: join(root, ".next", "worker.js") });
  writeFileSync(stamp, `${sources} ${buildId(root)}`);
}

/**
 * The service worker in one file that carries the build's id. Bundled by us and served by our own handler,
 * because what bundlers for Next serve came with a year-long cache and a source map.
 * @param {{ root: string, logs: string, id: string, later?: readonly string[], to: string }} what `later`: files that it keeps beside its shell
 */
export async function bundleWorker({ root, logs, id, later = [], to }) {
  await runStep({
    name: "worker", logs, command: process.execPath,
    args: [
      join(root, "node_modules/esbuild/bin/esbuild"), join(root, "app/worker/worker.ts"), `--outfile=${to}`, "--bundle", "--minify",
      "--format=iife", "--platform=browser", "--target=es2022", `--define:BUILD_ID=${JSON.stringify(id)}`, `--define:LATER_FILES=${JSON.stringify(later)}`, "--log-level=warning",
    ],
    sentence: "The app's worker could not be bundled: the lines above say why.",
  });
}

/** Where the bundler writes which files a page of ours is made of: those that must go on without a line. */
const OFFLINE_PAGES = ["family/send", "(open)/kept"].map((page) => `server/app/${page}/page_client-reference-manifest.js`);

/**
 * Every script of the page that sends photos and of the one that stands without signal, also what they
 * fetch only once a photo is chosen, or where something is kept.
 * @param {string} root @returns {string[]} addresses, in a fixed order
 */
export function offlineFiles(root) {
  const built = join(root, ".next");
  const found = new Set();
  const look = (text) => {
    for (const [, name] of text.matchAll(/static\/chunks\/([\w.~-]+\.js)/g)) {
      if (found.has(name)) continue;
      found.add(name);
      look(readFileSync(join(built, "static", "chunks", name), "utf8"));
    }
  };
  for (const page of OFFLINE_PAGES) look(readFileSync(join(built, page), "utf8"));
  return [...found].sort().map((name) => `/_next/static/chunks/${name}`);
}

/** Present only after a complete build, and new with each. */
function buildId(root) {
  const file = join(root, ".next", "BUILD_ID");
  return existsSync(file) ? readFileSync(file, "utf8") : "";
}

/** @param {string} root @returns {string} one hash of every source file's path and content */
export function hashSources(root) {
  const hash = createHash("sha256").update(process.versions.node);
  for (const file of SOURCES.flatMap((name) => filesUnder(root, name))) {
    hash.update(`\0${file}\0`).update(readFileSync(join(root, file)));
  }
  return hash.digest("hex");
}

/** @param {string} root @param {string} name @returns {string[]} paths below root, in a fixed order */
function filesUnder(root, name) {
  const found = statSync(join(root, name), { throwIfNoEntry: false });
  if (!found) return [];
  if (found.isFile()) return [name];
  return readdirSync(join(root, name), { withFileTypes: true, recursive: true })
    .filter((entry) => entry.isFile())
    .map((entry) => relative(root, join(entry.parentPath ?? entry.path, entry.name)))
    .sort();
}
