import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { defineConfig } from "vitest/config";

const root = fileURLToPath(new URL("..", import.meta.url));
const files = readdirSync(join(root, "tests"), { recursive: true, encoding: "utf8" }).filter((name) => name.endsWith(".test.ts")).map((name) => `tests/${name.replaceAll("\\", "/")}`);
/** What puts another module in the place of ours: whoever read it before in the same process would keep the true one. */
const mocking = files.filter((name) => /\bvi\.(?:mock|doMock|resetModules)\(/.test(readFileSync(join(root, name), "utf8")));

export default defineConfig({
  root,
  resolve: {
    alias: [
      { find: /^@\//, replacement: root },
      // Next alone resolves that name, and refuses it in what a browser gets; tests are a server.
      { find: /^server-only$/, replacement: `${root}node_modules/next/dist/compiled/server-only/empty.js` },
    ],
  },
  test: {
    environment: "node",
    // Long, because a limit must catch what never comes and not what comes slowly on a busy machine.
    testTimeout: 180_000,
    hookTimeout: 180_000,
    maxWorkers: 2,
    projects: [
      { extends: true, test: { name: "apart", include: mocking } },
      // A process and all our modules anew for each of two hundred files took a third of the processor's time.
      { extends: true, test: { name: "together", include: ["tests/**/*.test.ts"], exclude: mocking, isolate: false, setupFiles: ["tests/as-at-first.ts"] } },
    ],
  },
});
