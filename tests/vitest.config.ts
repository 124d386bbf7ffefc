import { fileURLToPath } from "node:url";
import { defineConfig } from "vitest/config";

const root = fileURLToPath(new URL("..", import.meta.url));

export default defineConfig({
  root,
  resolve: {
    alias: [
      { find: /^@\//, replacement: root },
      // `server-only` throws outside a server bundle; tests are a server.
      { find: /^server-only$/, replacement: `${root}node_modules/server-only/empty.js` },
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
