import { spawnSync } from "node:child_process";
import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { runStep } from "./run-step.mjs";

/** The one package whose install script may run: it compiles SQLite for this Node. */
const COMPILED = "better-sqlite3";
/** What Node 24 needs its sources to see first. */
const OBJECT_WRAP = fileURLToPath(new URL("object-wrap.h", import.meta.url));

/**
 * Installs exactly the lockfile, when it is not installed already, and compiles SQLite, when it does not
 * load in this Node. Scripts of all other packages never run.
 * @param {{ root: string, logs: string, say: (line: string) => void }} where
 */
export async function installPackages(where) {
  await fetchPackages(where);
  await compileSqlite(where);
}

/** The first half: what needs no SQLite may run as soon as it is done. @param {{ root: string, logs: string, say: (line: string) => void }} where */
export async function fetchPackages({ root, logs, say }) {
  if (matchesLockfile(root)) return;
  say("Installing packages (the first time only) …");
  await npm(["ci", "--ignore-scripts", "--include=dev", "--no-audit", "--no-fund"], {
    name: "install", logs, sentence: "The packages could not be installed: check the connection to the npm registry, then start again.",
  });
}

/** The second half. @param {{ root: string, logs: string, say: (line: string) => void }} where */
export async function compileSqlite({ root, logs, say }) {
  if (isCompiledForObjectWrap(root) && compiledLoads(root)) return;
  say("Compiling SQLite (about a minute and a half, the first time only) …");
  // For GCC and Clang; another compiler has never been tried. Elsewhere its own script would first fetch a module from another
  // host, which no hash of the lockfile names and which was compiled without OBJECT_WRAP.
  const flags = process.platform === "win32" ? {} : { CXXFLAGS: `${process.env.CXXFLAGS ?? ""} -include "${OBJECT_WRAP}"`, npm_config_build_from_source: "true" };
  await npm(["rebuild", COMPILED], { name: "compile", logs, sentence: whyNotCompiled, flags });
}

/** @param {readonly string[]} args @param {{ name: string, logs: string, sentence: string | ((output: string) => string), flags?: Record<string, string> }} step */
function npm(args, { flags, ...step }) {
  // NODE_ENV=production would leave out what the build and the tests need.
  const env = { ...process.env, ...flags, NODE_ENV: "" };
  return runStep({ ...step, command: process.platform === "win32" ? "npm.cmd" : "npm", args, env });
}

/** True when npm's own record of what it put in node_modules agrees with the lockfile, entry by entry. */
function matchesLockfile(root) {
  const record = join(root, "node_modules", ".package-lock.json");
  if (!existsSync(record)) return false;
  const wanted = JSON.parse(readFileSync(join(root, "package-lock.json"), "utf8")).packages;
  const found = JSON.parse(readFileSync(record, "utf8")).packages;
  const same = (path) => found[path]?.version === wanted[path].version && found[path]?.integrity === wanted[path].integrity;
  const isLeftOut = (path) => !(path in found) && (wanted[path].optional || wanted[path].peer);
  return Object.keys(wanted).every((path) => path === "" || same(path) || isLeftOut(path))
    && Object.keys(found).every((path) => path in wanted);
}

/**
 * False for a module compiled against headers whose ObjectWrap removes a cleanup hook: it loads, and
 * aborts the process at some later moment. See object-wrap.h.
 */
function isCompiledForObjectWrap(root) {
  const module = join(root, "node_modules", COMPILED, "build", "Release", "better_sqlite3.node");
  return process.platform === "win32" || !existsSync(module) || !readFileSync(module).includes("RemoveEnvironmentCleanupHook");
}

/** Asked of a child, because a module built for another Node can end the process that loads it. */
function compiledLoads(root) {
  const script = `new (require(${JSON.stringify(COMPILED)}))(":memory:").close()`;
  return spawnSync(process.execPath, ["-e", script], { cwd: root, stdio: "ignore" }).status === 0;
}

/** @param {string} output */
function whyNotCompiled(output) {
  if (/not found: make|find any Python|not found: (?:g\+\+|c\+\+)|g\+\+: (?:No such|not found)|cc1plus|No Xcode|find any Visual Studio/i.test(output)) {
    return "SQLite must be compiled once and no compiler was found: install python3, make and a C++ compiler (on Debian: apt-get install python3 make g++), then start again.";
  }
  return "SQLite could not be compiled for this Node: the lines above say why.";
}
