import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import { afterAll, beforeAll, expect, test } from "vitest";
import { bundleWorker } from "@/lib/cli/build-stamp.mjs";
import { root } from "@/tests/contract/sources";

/** Fetched again by every phone after every build, on one bar of signal. The figure is ours. */
const MOST_BYTES = 12_000;

const aside = mkdtempSync(join(tmpdir(), "trueside-worker-"));
const bundle = async (id: string): Promise<string> => {
  const to = join(aside, `${id}.js`);
  await bundleWorker({ root, logs: aside, id, to });
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

test("nothing in it keeps whatever address a page names, takes over by itself, or asks another server", () => {
  expect(script).not.toMatch(/CACHE_URLS|SKIP_WAITING/);
  expect(script.match(/skipWaiting\(\)/g)).toHaveLength(1);
  expect(script.match(/https?:\/\/[^"'`]*/g) ?? []).toEqual([]);
});
