import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { gzipSync } from "node:zlib";
import { afterAll, beforeAll, expect, test } from "vitest";
import { bundleWorker, offlineFiles } from "@/lib/cli/build-stamp.mjs";
import { root } from "@/tests/contract/sources";

/** Fetched again by every phone after every build, on one bar of signal; a clip goes in pieces from here too. The figure is ours. */
const MOST_BYTES = 12_500;

const aside = mkdtempSync(join(tmpdir(), "trueside-worker-"));
const bundle = async (id: string, later: readonly string[] = []): Promise<string> => {
  const to = join(aside, `${id}.js`);
  await bundleWorker({ root, logs: aside, id, later, to });
  return readFileSync(to, "utf8");
};
let script = "";
beforeAll(async () => {
  script = await bundle("one-build");
});
afterAll(() => rmSync(aside, { recursive: true, force: true }));

test("the worker is small and names no source map", () => {
  expect(script.length).toBeGreaterThan(1000);
  expect(gzipSync(script).length).toBeLessThan(MOST_BYTES);
  expect(script).not.toMatch(/sourceMappingURL/);
});

test("each build's worker differs, or phones would not notice it", async () => {
  expect(script).toContain("one-build");
  expect(await bundle("other-build")).not.toBe(script);
});

test("it names what the pages that go on without a line fetch later, however deep, and nothing else of the build", async () => {
  const built: Readonly<Record<string, string>> = {
    "server/app/family/send/page_client-reference-manifest.js": `m["/family/send/page"]={"chunks":["/_next/static/chunks/page.js"],"css":["/_next/static/chunks/page.css"]}`,
    "server/app/(open)/kept/page_client-reference-manifest.js": `m["/(open)/kept/page"]={"chunks":["/_next/static/chunks/shell.js"]}`,
    "static/chunks/shell.js": `later(["static/chunks/view.js"])`, "static/chunks/view.js": "",
    "static/chunks/page.js": `e.A(1);later(["static/chunks/steps.js"])`,
    "static/chunks/steps.js": `new W("static/chunks/own-worker.js",["static/chunks/page.js"],"/_next/static/media/reader.wasm")`,
    "static/chunks/own-worker.js": "", "static/chunks/desk.js": "",
  };
  for (const [path, text] of Object.entries(built)) {
    mkdirSync(dirname(join(aside, ".next", path)), { recursive: true });
    writeFileSync(join(aside, ".next", path), text);
  }
  const later = offlineFiles(aside);
  expect(later).toEqual(["own-worker", "page", "shell", "steps", "view"].map((name) => `/_next/static/chunks/${name}.js`));
  const worker = await bundle("with-files", later);
  for (const path of later) expect(worker).toContain(path);
});

test("nothing in it keeps whatever address a page names, takes over by itself, or asks another server", () => {
  expect(script).not.toMatch(/CACHE_URLS|SKIP_WAITING/);
  expect(script.match(/skipWaiting\(\)/g)).toHaveLength(1);
  expect(script.match(/https?:\/\/[^"'`]*/g) ?? []).toEqual([]);
});
