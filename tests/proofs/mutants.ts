import { spawn } from "node:child_process";
import { cpSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { mutated, mutationsOf, type Mutation } from "@/tests/proofs/mutations";
import { chance } from "@/tests/proofs/random";
import type { Report } from "@/tests/proofs/report";

const root = fileURLToPath(new URL("../..", import.meta.url));
const COPIED = ["app", "lib", "db", "demo-data", "tests", "tsconfig.json", "package.json"];
/** An endless loop is noticed, and so killed, after this. */
const LONGEST_MS = 60_000;
const AT_ONCE = 2;

const GO_AHEAD = ["domain/go-ahead", "property/go-ahead"];
const LEDGER = ["domain/ledger", "property/ledger"];
const TIME = ["domain/time-working", "property/time"];
/** Each source whose error could hurt a child or break a promise, and the tests that hold it. */
const COVERED: Readonly<Record<string, readonly string[]>> = {
  "setup/side-check": ["domain/setup-side-check", "property/side-check"],
  "setup/resolve": ["domain/setup-resolve", "property/setup"],
  "setup/go-ahead": GO_AHEAD,
  "setup/go-ahead-stops": GO_AHEAD,
  "setup/go-ahead-not-yet": GO_AHEAD,
  "setup/go-ahead-photos": GO_AHEAD,
  "setup/go-ahead-reasons": GO_AHEAD,
  "ledger/standing": [...LEDGER, ...GO_AHEAD],
  "ledger/ledger": LEDGER,
  "stats/wilson": ["domain/stats-wilson", "property/stats"],
  "stats/kaplan-meier": ["domain/stats-kaplan-meier", "property/stats"],
  "time/working-time": TIME,
  "time/spans": TIME,
  "words/typed-sides": ["domain/words-typed-sides"],
};

/**
 * The errors nobody may ever make unnoticed: the side turned round, an unproven picture called proof, a
 * stop made weaker or lifted by an old photo, a set-up guessed for a child it is not for, a date let pass,
 * a wrong side typed and not flagged. Each stands once in its file.
 */
const VITAL: readonly (readonly [name: string, from: string, to: string])[] = [
  ["setup/side-check", "FLOOR) > 0", "FLOOR) < 0"],
  ["setup/side-check", `seen.mirrored === "unknown"`, `seen.mirrored !== "unknown"`],
  ["setup/go-ahead-reasons", `"stop-item-fix": "stop"`, `"stop-item-fix": "go-and-fix"`],
  ["setup/go-ahead-reasons", `"symptom-today": "stop"`, `"symptom-today": "not-yet"`],
  ["setup/go-ahead-stops", "stop.clearedAt === null", "stop.clearedAt !== null"],
  ["setup/go-ahead-stops", "items.some(", "items.every("],
  ["ledger/standing", "verdicts.some(", "verdicts.every("],
  ["ledger/standing", "seenAt > stop.judgedAt", "seenAt >= stop.judgedAt"],
  ["setup/resolve", `state === "not-assessed"`, `state === "none"`],
  ["setup/resolve", "fitting.length > 1", "fitting.length > 2"],
  ["setup/go-ahead-not-yet", "!(nowMs < record.reassessBy)", "nowMs < record.reassessBy"],
  ["words/typed-sides", "reading.sides === side", "reading.sides !== side"],
];

type Mutant = { readonly name: string; readonly mutation: Mutation };

/**
 * The vital mutants and `more` others by seeded choice; a vital one that no test notices is a loss. The
 * others are told as they are found: some change nothing that anybody could see, so a person must look.
 */
export async function mutants({ more, seed, tell }: { readonly more: number; readonly seed: number; readonly tell: (survivor: string) => void }): Promise<Report> {
  const random = chance(seed);
  const vital = VITAL.map(vitalMutant);
  const others = Object.keys(COVERED).flatMap((name) => mutationsOf(sourceOf(name)).map((mutation): Mutant => ({ name, mutation })));
  const chosen = others.map((mutant) => ({ mutant, at: random() })).sort((a, b) => a.at - b.at).slice(0, more).map(({ mutant }) => mutant);
  const tests = [...new Set([...vital, ...chosen].flatMap(({ name }) => COVERED[name] ?? []))];
  if (!(await passesUnchanged(tests))) return { figures: { seed }, losses: ["the tests fail without any mutant"] };
  const queue = [...vital, ...chosen].map((mutant, index) => ({ mutant, isVital: index < vital.length }));
  let survived = 0;
  const losses: string[] = [];
  await Promise.all(Array.from({ length: AT_ONCE }, async () => {
    const copy = copyOfTree();
    try {
      for (let next = queue.shift(); next; next = queue.shift()) {
        const { mutant, isVital } = next;
        if (await isKilled(copy, mutant)) continue;
        survived += 1;
        tell(said(mutant));
        if (isVital) losses.push(said(mutant));
      }
    } finally {
      rmSync(copy, { recursive: true, force: true });
    }
  }));
  const tried = vital.length + chosen.length;
  return { figures: { seed, possible: others.length, tried, killed: tried - survived, survived, vitalSurvived: losses.length }, losses };
}

/** The tests must pass on the copy as it is, or every mutant would seem killed. */
async function passesUnchanged(tests: readonly string[]): Promise<boolean> {
  const copy = copyOfTree();
  try {
    return await passes(copy, tests);
  } finally {
    rmSync(copy, { recursive: true, force: true });
  }
}

const said = ({ name, mutation: { line, from, to } }: Mutant): string => `lib/domain/${name}.ts:${line}  ${from}  →  ${to}`;
const sourceOf = (name: string): string => readFileSync(join(root, "lib/domain", `${name}.ts`), "utf8");

function vitalMutant([name, from, to]: (typeof VITAL)[number]): Mutant {
  const text = sourceOf(name);
  const start = text.indexOf(from);
  if (start < 0 || text.includes(from, start + 1)) throw new Error(`${name} does not hold ${from} once`);
  return { name, mutation: { start, line: text.slice(0, start).split("\n").length, from, to } };
}

function copyOfTree(): string {
  const copy = mkdtempSync(join(tmpdir(), "trueside-mutants-"));
  for (const name of COPIED) cpSync(join(root, name), join(copy, name), { recursive: true });
  symlinkSync(join(root, "node_modules"), join(copy, "node_modules"));
  return copy;
}

async function isKilled(copy: string, { name, mutation }: Mutant): Promise<boolean> {
  const path = join(copy, "lib/domain", `${name}.ts`);
  const text = readFileSync(path, "utf8");
  writeFileSync(path, mutated(text, mutation));
  try {
    return !(await passes(copy, COVERED[name] ?? []));
  } finally {
    writeFileSync(path, text);
  }
}

function passes(copy: string, tests: readonly string[]): Promise<boolean> {
  const files = tests.map((test) => `tests/${test}.test.ts`);
  // A group of its own, so that an endless worker ends with it. Nothing of an outer test run is handed down.
  const env = Object.fromEntries(Object.entries(process.env).filter(([name]) => !name.startsWith("VITEST")));
  const child = spawn(process.execPath, ["node_modules/vitest/vitest.mjs", "run", "-c", "tests/vitest.config.ts", "--bail=1", ...files], {
    cwd: copy, stdio: "ignore", detached: true, env: { ...env, NODE_ENV: "test" },
  });
  return new Promise((resolve) => {
    const clock = setTimeout(() => child.pid !== undefined && process.kill(-child.pid, "SIGKILL"), LONGEST_MS);
    child.once("close", (code) => {
      clearTimeout(clock);
      resolve(code === 0);
    });
  });
}
