import { copyFileSync, cpSync, existsSync, linkSync, lstatSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, readlinkSync, rmSync, symlinkSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { startOwn } from "@/e2e/own-server";
import type { Cell } from "@/e2e/walk/noted";
import { freePort } from "@/e2e/walk/port";
import { findBrowser } from "@/lib/cli/browser.mjs";
import { NO_PAGE_POLICY } from "@/lib/cli/fixed-headers.mjs";
import { countPlaywright } from "@/lib/cli/test-count.mjs";
import type { Report } from "@/tests/proofs/report";

const root = fileURLToPath(new URL("../..", import.meta.url));
const PACKAGES = "node_modules";
/** Made by running, not written. */
const NOT_SOURCE = [PACKAGES, ".git", ".next", "data", "test-results"];

type Walk = { readonly cells: ReadonlyMap<string, Cell>; readonly passed: number; readonly failed: number; readonly said: string };

/**
 * The whole access walk twice in a copy of the source, built there: with proxy.ts, and with it deleted. Both must hold, and each
 * cell must end in both alike, but for what proxy.ts is there for: a page's policy, sending on whoever brings no cookie, and the older router's addresses.
 */
export async function walk(): Promise<Report> {
  const browser = await findBrowser(process.env, () => undefined);
  const copy = mkdtempSync(join(tmpdir(), "trueside-walked-"));
  try {
    for (const name of readdirSync(root)) if (!NOT_SOURCE.includes(name)) cpSync(join(root, name), join(copy, name), { recursive: true });
    linkAll(join(root, PACKAGES), join(copy, PACKAGES));
    const present = await walkIn(copy, browser, "with");
    rmSync(join(copy, "proxy.ts"));
    return compared(present, await walkIn(copy, browser, "without"));
  } finally {
    rmSync(copy, { recursive: true, force: true });
  }
}

/** The same files under another name: there are thousands, and nothing writes into one. */
function linkAll(from: string, to: string): void {
  const kind = lstatSync(from);
  if (kind.isSymbolicLink()) symlinkSync(readlinkSync(from), to);
  else if (kind.isDirectory()) {
    mkdirSync(to);
    for (const name of readdirSync(from)) linkAll(join(from, name), join(to, name));
  } else {
    try {
      linkSync(from, to);
    } catch {
      // Another disk.
      copyFileSync(from, to);
    }
  }
}

/** Builds what lies there and walks it, as `npm test` does. */
async function walkIn(copy: string, browser: string, name: string): Promise<Walk> {
  const [cells, report] = [join(copy, `cells-${name}`), join(copy, `report-${name}.json`)];
  const args = ["test", "-c", "e2e/playwright.config.ts", "--project=server", "--no-deps", "--reporter=json", "access-walk"];
  // By itself, since a server that builds first may take longer than the walk waits for one.
  const built = await startOwn({}, process.execPath, [join(copy, "lib/cli/long-run.mjs"), "-e", "0"], copy).ended;
  if (built.code !== 0) return { cells: new Map(), passed: 0, failed: 1, said: built.err };
  const env = { CHROMIUM_PATH: browser, WALK_CELLS: cells, PLAYWRIGHT_JSON_OUTPUT_NAME: report, E2E_PORT: String(await freePort()), E2E_DATA_DIR: join(copy, `data-${name}`) };
  const { code, out, err } = await startOwn(env, process.execPath, [join(copy, "node_modules/@playwright/test/cli.js"), ...args], copy).ended;
  const told: unknown = existsSync(report) ? JSON.parse(readFileSync(report, "utf8")) : null;
  const { passed, failed } = countPlaywright(told, code ?? 1);
  const lines = existsSync(cells) ? readFileSync(cells, "utf8").trim().split("\n").map((line) => JSON.parse(line) as Cell) : []; // written by the walk
  return { cells: new Map(lines.map((cell) => [cell.cell, cell])), passed, failed, said: told === null ? `${out}${err}` : JSON.stringify(told).match(/"message":"(?:[^"\\]|\\.)*/g)?.join("\n") ?? "" };
}

function compared(present: Walk, absent: Walk): Report {
  const losses = [["with proxy.ts", present] as const, ["without", absent] as const].flatMap(([name, { failed, said }]) => (failed > 0 ? [`${name} ${failed} tests of the walk failed: ${said}`] : []));
  const walked = { "cells with proxy.ts": present.cells.size, "tests failed": present.failed, "cells without": absent.cells.size, "tests failed without": absent.failed };
  if (losses.length > 0) return { figures: { ...walked, lost: losses.length }, losses };
  const count = { "ended alike": 0, "sent on by the page alone": 0, "addresses gone": 0, "without a page's policy": 0 };
  for (const [name, cell] of present.cells) {
    const other = absent.cells.get(name);
    if (!other) losses.push(`${name} was not walked without proxy.ts`);
    else if (isSentOn(cell, other)) count["sent on by the page alone"] += 1;
    else if (isGone(cell, other)) count["addresses gone"] += 1;
    else if (told(cell) === told(other)) count["ended alike"] += 1;
    else losses.push(`${name}: ${told(cell)} with proxy.ts, ${told(other)} without`);
    if (!other || cell.policy === other.policy) continue;
    if (cell.policy.includes("'nonce'") && other.policy === NO_PAGE_POLICY) count["without a page's policy"] += 1;
    else losses.push(`${name}: without proxy.ts another policy, ${other.policy}`);
  }
  for (const name of absent.cells.keys()) if (!present.cells.has(name)) losses.push(`${name} was walked without proxy.ts alone`);
  // Else it was there after all.
  if (count["sent on by the page alone"] === 0 || count["without a page's policy"] === 0) losses.push("without proxy.ts everything is as with it");
  return { figures: { ...walked, ...count, lost: losses.length }, losses };
}

/** For comfort proxy.ts leads a stranger back afterwards; the page itself only leads to sign-in. */
const isSentOn = (cell: Cell, other: Cell): boolean =>
  /^no cookie at \/(?:family|desk)/.test(cell.cell) && cell.status === 303 && cell.location.startsWith("/sign-in?then=%2F") && other.status === 307 && other.location === "/sign-in";

/** The framework answers the older router's addresses only for a proxy's sake. */
const isGone = (cell: Cell, other: Cell): boolean => cell.cell.endsWith(", data of the older router") && other.status === 404 && other.location === "";

const told = ({ status, location, refusal }: Cell): string => `${status} ${location} ${refusal}`.trim();
