/**
 * The one way TypeScript runs outside Next: `node --import ./lib/cli/runner.mjs FILE.ts`. `@/` is as in
 * tsconfig, and `server-only` is nothing: Next, which resolves that name itself and refuses it in what a
 * browser gets, is not there to refuse anything.
 */
import * as modules from "node:module";
import { isMainThread } from "node:worker_threads";
import "tsx";

/** @type {import("node:module").ResolveHook} */
export const resolve = (specifier, context, next) =>
  specifier === "server-only" ? { url: "data:text/javascript,", format: "module", shortCircuit: true } : next(specifier, context);

// Older Node resolves in a thread beside, which loads this file once more.
if (modules.registerHooks) modules.registerHooks({ resolve });
else if (isMainThread) modules.register(import.meta.url);
