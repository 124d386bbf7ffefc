import { existsSync } from "node:fs";
import { dirname, join } from "node:path";
import { expect, test } from "vitest";
import { filesUnder, read, root } from "@/tests/contract/sources";

const papers = filesUnder(["lib/trust", "lib/deploy"], /\.md$/);

/** Files of the project and pages beside it that a paper names. */
const named = (path: string): readonly string[] => [
  ...(read(path).match(/`(?:app|lib|db|e2e|tests)\/[\w./[\]()-]+\.\w+`/g) ?? []).map((quoted) => quoted.slice(1, -1)),
  ...[...read(path).matchAll(/\]\(([\w./-]+)\)/g)].map(([, link = ""]) => join(dirname(path), link)),
];

test("what a paper names is there", () => {
  expect(papers).toContain("lib/trust/requirements.md");
  expect(papers.flatMap(named).length).toBeGreaterThan(100);
  for (const path of papers) expect(named(path).filter((file) => !existsSync(join(root, file))), path).toEqual([]);
});

test("every must has one row with one state, and no row that is held lacks what proves it", () => {
  const rows = read("lib/trust/requirements.md").split("\n").filter((line) => /^\| [A-Z]{2}-\d/.test(line)).map((line) => line.split("|").map((cell) => cell.trim()));
  // The count of the requirements as they were set: 73 of 80 are a must.
  expect(new Set(rows.map(([, id]) => id)).size).toBe(73);
  expect(rows).toHaveLength(73);
  for (const [, id, , state, by] of rows) {
    expect(["held", "in part", "not met"], id).toContain(state);
    if (state === "held") expect(by, id).toMatch(/`(?:tests|e2e)\/|threats\.md/);
  }
});

test("every paper is linked from the README", () => {
  for (const path of papers) expect(read("README.md"), path).toContain(`(${path})`);
});
