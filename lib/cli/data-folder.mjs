import { accessSync, constants, existsSync, mkdirSync, readFileSync, readdirSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { Refusal } from "./refusal.mjs";

/** Says what a data folder is. Written first and never changed, so that a demo cannot become a practice. */
const KIND = "kind";
/** Written when the demo is complete; without it an interrupted demo is begun again. */
const SEEDED = "demo-seeded";

/**
 * Makes or opens the data folder and settles whether it holds the demo or a real practice.
 * @param {string} dataDir absolute
 * @param {boolean | undefined} wantsDemo as asked for; undefined goes with what the folder is, and means the demo for a new one
 * @returns {{ isDemo: boolean }}
 */
export function openDataFolder(dataDir, wantsDemo) {
  makeWritable(dataDir);
  const kind = readKind(dataDir) ?? markNew(dataDir, wantsDemo ?? true);
  if (kind === "demo" && wantsDemo === false) {
    throw new Refusal(`${dataDir} holds the demo, which can never become a real practice: set DATA_DIR to a new folder.`);
  }
  if (kind === "real" && wantsDemo) {
    throw new Refusal(`${dataDir} holds a real practice: unset DEMO, or set DATA_DIR to a new folder for the demo.`);
  }
  return { isDemo: kind === "demo" };
}

/** @param {string} dataDir */
export function isDemoSeeded(dataDir) {
  return existsSync(join(dataDir, SEEDED));
}

/** @param {string} dataDir */
export function markDemoSeeded(dataDir) {
  writeFileSync(join(dataDir, SEEDED), "");
}

/**
 * Empties a demo folder whose first filling was interrupted. Refuses any other folder.
 * @param {string} dataDir
 * @param {readonly string[]} keep names that stay
 */
export function emptyDemoFolder(dataDir, keep = []) {
  if (readKind(dataDir) !== "demo" || isDemoSeeded(dataDir)) throw new Error("not an unfinished demo folder");
  const stays = new Set([KIND, ...keep]);
  for (const name of readdirSync(dataDir)) if (!stays.has(name)) rmSync(join(dataDir, name), { recursive: true });
}

/** @param {string} dataDir */
function makeWritable(dataDir) {
  try {
    makeFolder(dataDir);
    accessSync(dataDir, constants.R_OK | constants.W_OK | constants.X_OK);
    // Root passes every permission check, so a read-only disk shows only when something is written.
    writeFileSync(join(dataDir, ".probe"), "");
    rmSync(join(dataDir, ".probe"));
  } catch {
    throw new Refusal(`The data folder ${dataDir} cannot be written: set DATA_DIR to a folder you may write to.`);
  }
}

/** Step by step: Node's own recursive mode never returns where the system makes no folders, as in /proc. */
function makeFolder(path) {
  if (existsSync(path)) return;
  makeFolder(dirname(path));
  mkdirSync(path, { mode: 0o700 });
}

/** @param {string} dataDir @returns {"demo" | "real" | null} */
function readKind(dataDir) {
  const file = join(dataDir, KIND);
  if (!existsSync(file)) return null;
  const kind = readFileSync(file, "utf8").trim();
  if (kind === "demo" || kind === "real") return kind;
  throw new Refusal(`${file} says neither demo nor real: put the data folder back from a backup.`);
}

/** @param {string} dataDir @param {boolean} isDemo */
function markNew(dataDir, isDemo) {
  if (readdirSync(dataDir).some((name) => !name.startsWith(".") && name !== "lost+found")) {
    throw new Refusal(`${dataDir} holds files that are not ours: set DATA_DIR to a new or empty folder.`);
  }
  const kind = isDemo ? "demo" : "real";
  writeFileSync(join(dataDir, `.${KIND}`), `${kind}\n`, { mode: 0o600 });
  renameSync(join(dataDir, `.${KIND}`), join(dataDir, KIND));
  return kind;
}
