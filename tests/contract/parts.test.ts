import { expect, test } from "vitest";
import { partsOf, renderParts, type Lockfile } from "@/lib/trust/parts";
import { read } from "@/tests/contract/sources";

// ASVS 5.0, 15.1.2: an inventory of third-party parts; the same in the practice's own requirement, which has its changes read.

const lock = JSON.parse(read("package-lock.json")) as Lockfile; // npm's own form, version 3
const own = JSON.parse(read("package.json")) as Readonly<Record<"dependencies" | "devDependencies", Readonly<Record<string, string>>>> & { readonly allowScripts: Readonly<Record<string, boolean>> };
const parts = partsOf(lock);

test("the list of parts is that of the lockfile; npm run data-map writes it", () => {
  expect(read("lib/trust/parts.md")).toBe(renderParts(lock));
  for (const name of Object.keys(own.dependencies)) expect(read("lib/trust/parts.md")).toContain(`| ${name} | ${own.dependencies[name]} |`);
});

test("every version is exact, and every part comes with a hash from a registry, none from a place of somebody's", () => {
  for (const [name, version] of Object.entries({ ...own.dependencies, ...own.devDependencies })) expect(version, name).toMatch(/^\d+\.\d+\.\d+(?:-[\w.]+)?$/);
  expect(parts.length).toBeGreaterThan(100);
  for (const [path, { integrity = "", resolved = "" }] of parts) {
    expect(integrity, path).toMatch(/^sha512-/);
    expect(resolved, path).toMatch(/^(?:https:\/\/[^/]+\/.*\.tgz)?$/);
  }
});

test("no part wants to run a script as it is installed but those that were looked at", () => {
  expect(parts.filter(([, { hasInstallScript }]) => hasInstallScript).map(([path]) => path.replace(/^node_modules\//, ""))).toEqual(Object.keys(own.allowScripts));
});

test("a licence that was never looked at is noticed", () => {
  const known = /^\(?(?:MIT|MIT-0|ISC|Apache-2\.0|BSD-2-Clause|BSD-3-Clause|0BSD|BlueOak-1\.0\.0|CC0-1\.0|CC-BY-4\.0|MPL-2\.0|LGPL-3\.0(?:-or-later)?|Unlicense|Python-2\.0)(?: (?:AND|OR) (?:[\w.-]+))*\)?$/;
  expect(parts.filter(([, { license = "" }]) => !known.test(license)).map(([path, { license }]) => `${path}: ${license}`)).toEqual([]);
});
