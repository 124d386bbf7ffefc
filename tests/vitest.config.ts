import { fileURLToPath } from "node:url";
import { defineConfig } from "vitest/config";

const root = fileURLToPath(new URL("..", import.meta.url));

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
    include: ["tests/**/*.test.ts"],
    environment: "node",
    testTimeout: 60_000,
    hookTimeout: 60_000,
    maxWorkers: 2,
  },
});
