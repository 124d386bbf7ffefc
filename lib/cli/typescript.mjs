/**
 * How Node reads TypeScript under `runner.mjs`: its hooks run in a thread beside, where esbuild takes the types
 * away. Endings may be left out as the bundler allows it, `@/` is as in tsconfig, and `server-only` is nothing:
 * Next, which resolves that name itself and refuses it in what a browser gets, is not there to refuse anything.
 */
import { existsSync } from "node:fs";
import { readFile } from "node:fs/promises";
import { fileURLToPath } from "node:url";
import { transform } from "esbuild";

const ROOT = new URL("../../", import.meta.url);
const ENDINGS = [".ts", ".tsx", ".mjs"];

/** @type {import("node:module").ResolveHook} */
export async function resolve(specifier, context, next) {
  if (specifier === "server-only") return { url: "data:text/javascript,", format: "module", shortCircuit: true };
  // Next says nowhere which of its files are its modules, so that Node wants them by their whole names.
  if (/^next\/[^.]+$/.test(specifier)) return next(`${specifier}.js`, context);
  const own = ownFile(specifier, context.parentURL);
  if (!own) return next(specifier, context);
  const url = ENDINGS.map((ending) => `${own}${ending}`).find((each) => existsSync(fileURLToPath(each)));
  return next(url ?? own, context);
}

/** The address that a name of our own tree means, its ending perhaps left out; null for a package's. */
function ownFile(specifier, parent) {
  if (specifier.startsWith("@/")) return new URL(specifier.slice(2), ROOT).href;
  return /^\.\.?\//.test(specifier) && parent?.startsWith(ROOT.href) && !parent.includes("/node_modules/") ? new URL(specifier, parent).href : null;
}

/** @type {import("node:module").LoadHook} */
export async function load(url, context, next) {
  const ending = /\.(tsx?|json)(?:\?.*)?$/.exec(url)?.[1];
  if (!ending || !url.startsWith(ROOT.href) || url.includes("/node_modules/")) return next(url, context);
  const text = await readFile(fileURLToPath(url), "utf8");
  if (ending === "json") return { format: "module", source: `export default ${text}`, shortCircuit: true };
  const { code } = await transform(text, { loader: ending, format: "esm", target: "node20", jsx: "automatic", sourcemap: "inline", sourcefile: fileURLToPath(url) });
  return { format: "module", source: code, shortCircuit: true };
}
