/** The one way TypeScript runs outside Next: `node --import ./lib/cli/runner.mjs FILE.ts`; `typescript.mjs` says how. */
import { register } from "node:module";
import { isMainThread } from "node:worker_threads";

// Threads beside run plain JavaScript alone, and a stack names the lines that were written.
if (isMainThread) {
  register("./typescript.mjs", import.meta.url);
  process.setSourceMapsEnabled(true);
}
