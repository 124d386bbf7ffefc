import { expect, test } from "vitest";
import { read } from "@/tests/contract/sources";

/** The oldest version of a package without a known hole, and what is in those before it. From GitHub's advisory database, as read on 25 November 2026; `npm audit` is asked besides. */
const FLOORS: readonly (readonly [name: string, floor: string, why: string])[] = [
  ["next", "16.3.3", "GHSA-2xp9-vwfh-vxw4 and CVE-2026-75604: code execution; before 16.2.11 CVE-2026-64641, before 16.2.6 CVE-2026-44575, before 15.2.3 CVE-2025-29927"],
  ["react", "19.2.6", "CVE-2026-23870: denial of service; before 19.2.1 CVE-2025-55182, code execution by anybody"],
  ["react-dom", "19.2.6", "CVE-2026-23870: denial of service; before 19.2.1 CVE-2025-55182, code execution by anybody"],
  ["next-auth", "4.24.15", "CVE-2026-73420: account takeover by an address that looks like another"],
  ["sharp", "0.35.4", "CVE-2026-84383: code execution by a picture"],
  ["nodemailer", "9.0.1", "GHSA-p6gq-j5cr-w38f, GHSA-vvjj-xcjg-gr5g, GHSA-268h-hp4c-crq3: foreign lines in mails, files read"],
  ["better-sqlite3", "12.8.0", "SQLite before 3.51.3 can damage a database as its write-ahead log is reset"],
];

type Lock = { readonly packages: Readonly<Record<string, { readonly version?: string }>> };

/** Numbers of a release; one before it (`-rc.1`) counts as older. */
function isBelow(version: string, floor: string): boolean {
  const [numbers = "", before] = version.split("-", 2);
  const [one, other] = [numbers, floor].map((text) => text.split(".").map(Number));
  for (const [index, wanted] of (other ?? []).entries()) {
    const found = one?.[index] ?? 0;
    if (found !== wanted) return !(found > wanted);
  }
  return before !== undefined;
}

/** Every copy of a package, nested ones too, that is below its floor. */
const below = ({ packages }: Lock): readonly string[] => FLOORS.flatMap(([name, floor, why]) =>
  Object.entries(packages)
    .filter(([path, { version = "" }]) => path.endsWith(`node_modules/${name}`) && isBelow(version, floor))
    .map(([path, { version }]) => `${path} ${version} is below ${floor}: ${why}`));

const lock = JSON.parse(read("package-lock.json")) as Lock; // npm's own form, version 3

test("no package of the lockfile is below its floor", () => {
  for (const [name] of FLOORS) expect(Object.keys(lock.packages)).toContain(`node_modules/${name}`);
  expect(below(lock)).toEqual([]);
});

test.each(FLOORS)("%s one patch older than its floor is named with its advisory, nested or not", (name, floor, why) => {
  const [major = 0, minor = 0, patch = 0] = floor.split(".").map(Number);
  const older = patch > 0 ? `${major}.${minor}.${patch - 1}` : `${major}.${minor - 1}.99`;
  for (const path of [`node_modules/${name}`, `node_modules/other/node_modules/${name}`]) {
    for (const version of [older, `${floor}-rc.1`, "0.0.1"]) expect(below({ packages: { [path]: { version } } })).toEqual([`${path} ${version} is below ${floor}: ${why}`]);
    for (const version of [floor, `${major + 1}.0.0`, `${major}.${minor}.${patch + 10}`]) expect(below({ packages: { [path]: { version } } })).toEqual([]);
  }
});

test("SQLite is the one that was checked, not the system's", async () => {
  const { default: Sqlite } = await import("better-sqlite3");
  const client = new Sqlite(":memory:");
  const version = client.prepare<[], string>("select sqlite_version()").pluck().get() ?? "0.0.0";
  client.close();
  expect(isBelow(version, "3.51.3")).toBe(false);
});
