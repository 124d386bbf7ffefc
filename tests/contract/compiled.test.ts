import { execFileSync } from "node:child_process";
import { chmodSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { delimiter, join } from "node:path";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { compileSqlite } from "@/lib/cli/install.mjs";

let aside: string;
beforeEach(() => {
  aside = mkdtempSync(join(tmpdir(), "trueside-compiled-"));
});
afterEach(() => {
  vi.unstubAllEnvs();
  rmSync(aside, { recursive: true, force: true });
});

/** What npm would be run with in a folder where nothing is compiled yet. */
async function handedToNpm(): Promise<{ readonly args: readonly string[]; readonly env: Readonly<Record<string, string>> }> {
  const [bin, heard] = [join(aside, "bin"), join(aside, "heard.json")];
  mkdirSync(bin);
  const npm = join(bin, "npm");
  writeFileSync(npm, `#!${process.execPath}\nrequire("node:fs").writeFileSync(${JSON.stringify(heard)}, JSON.stringify({ args: process.argv.slice(2), env: process.env }));\n`);
  chmodSync(npm, 0o755);
  vi.stubEnv("PATH", `${bin}${delimiter}${process.env["PATH"]}`);
  await compileSqlite({ root: aside, logs: join(aside, "logs"), say: () => undefined });
  return JSON.parse(readFileSync(heard, "utf8")) as Awaited<ReturnType<typeof handedToNpm>>; // written above
}

// Held to the very program that would fetch one: prebuild-install says what it makes of its environment.
test("SQLite is compiled from the source that the lockfile names, and no module made elsewhere is fetched", async () => {
  const { args, env } = await handedToNpm();
  expect(args).toEqual(["rebuild", "better-sqlite3"]);
  const asked = (given: Readonly<Record<string, string | undefined>>): unknown =>
    JSON.parse(execFileSync(process.execPath, ["-p", 'JSON.stringify(require("prebuild-install/rc")({ name: "better-sqlite3" }))'], { env: { ...given, NODE_ENV: "test" }, encoding: "utf8" }));
  expect(asked(env)).toMatchObject({ buildFromSource: true });
  expect(asked({ ...env, npm_config_build_from_source: undefined })).toMatchObject({ buildFromSource: false });
});

test("what is compiled reads the header first that keeps it from aborting, and the flags somebody set stay", async () => {
  vi.stubEnv("CXXFLAGS", "-O1");
  const { env } = await handedToNpm();
  const [, kept, header] = /^(.*) -include "(.+)"$/.exec(env["CXXFLAGS"] ?? "") ?? [];
  expect(kept).toBe("-O1");
  expect(readFileSync(header ?? "", "utf8")).toContain("#include <node_object_wrap.h>");
});
