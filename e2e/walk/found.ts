import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

const root = fileURLToPath(new URL("../..", import.meta.url));
const built = (path: string): unknown => JSON.parse(readFileSync(join(root, ".next", path), "utf8"));

/** Routes of the framework's own that hold nothing of ours. */
const NOT_OURS = ["/_not-found", "/_global-error", "/favicon.ico", "/icon", "/apple-icon", "/manifest.webmanifest"];

export type FoundAction = { readonly key: string; readonly id: string; readonly pages: readonly string[] };
export type Found = { readonly pages: readonly string[]; readonly handlers: readonly string[]; readonly actions: readonly FoundAction[] };

/** Every door of the built app, read from what the build itself wrote: pages, handlers by method, actions. */
export function found(): Found {
  // Next's own manifest: entry of the app folder → path people ask for.
  const routes = Object.entries(built("app-path-routes-manifest.json") as Record<string, string>).filter(([, path]) => !NOT_OURS.includes(path));
  const pathOf = new Map(routes);
  // Next's own manifest: id → the pages that carry the action, where it is written, what it is called.
  const { node, edge } = built("server/server-reference-manifest.json") as Readonly<Record<"node" | "edge", Readonly<Record<string, {
    readonly workers: Readonly<Record<string, unknown>>; readonly exportedName?: string; readonly filename?: string;
  }>>>>;
  if (Object.keys(edge).length > 0) throw new Error("an action outside Node is not walked");
  return {
    pages: routes.filter(([entry]) => entry.endsWith("/page")).map(([, path]) => path).sort(),
    handlers: routes.filter(([entry]) => entry.endsWith("/route")).flatMap(([entry, path]) => methodsOf(entry).map((method) => `${method} ${path}`)).sort(),
    actions: Object.entries(node).map(([id, { workers, exportedName, filename }]) => ({
      key: `${filename ?? "?"}#${exportedName ?? id}`,
      id,
      pages: Object.keys(workers).flatMap((worker) => pathOf.get(worker.replace(/^app/, "")) ?? []),
    })).sort((one, other) => one.key.localeCompare(other.key)),
  };
}

/** The methods that a route.ts exports. */
function methodsOf(entry: string): readonly string[] {
  const file = join(root, "app", `${entry}.ts`);
  if (!existsSync(file)) throw new Error(`no source for ${entry}`);
  const text = readFileSync(file, "utf8");
  const methods = [...text.matchAll(/^export const (?:(\w+)|\{([^}]*)\})\s*=/gm)].flatMap(([, one, list]) => one ?? (list ?? "").split(",").map((each) => each.trim()));
  const known = methods.filter((name) => /^(GET|HEAD|POST|PUT|PATCH|DELETE|OPTIONS)$/.test(name));
  if (known.length === 0) throw new Error(`no method found in ${entry}`);
  return known;
}
