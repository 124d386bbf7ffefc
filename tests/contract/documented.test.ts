import ts from "typescript";
import { expect, test } from "vitest";
import { filesUnder, parsed, read, walk } from "@/tests/contract/sources";

const guide = read("DEVELOPERS.md");
/** Named by whoever runs the programs, not by us: the framework's and npm's own. */
const NOT_SETTINGS = ["NODE_ENV", "NEXT_RUNTIME", "npm_lifecycle_event"];

/** Names read from `process.env`, or from a parameter or variable named `env`. */
function variablesRead(): ReadonlySet<string> {
  const found = new Set<string>();
  for (const path of filesUnder(["app", "lib", "db", "demo-data", "e2e", "proxy.ts", "instrumentation.ts", "next.config.mjs"], /\.(tsx?|mjs)$/)) {
    walk(parsed(path), (node) => {
      const isMember = ts.isPropertyAccessExpression(node) || ts.isElementAccessExpression(node);
      if (!isMember || !/^(process\.env|env)$/.test(node.expression.getText())) return;
      if (ts.isPropertyAccessExpression(node)) found.add(node.name.text);
      else if (ts.isStringLiteralLike(node.argumentExpression)) found.add(node.argumentExpression.text);
    });
  }
  return found;
}

test("every environment variable that is read stands in the developers' guide", () => {
  const names = [...variablesRead()].filter((name) => !NOT_SETTINGS.includes(name));
  expect(names).toContain("DATA_DIR");
  expect(names.filter((name) => !guide.includes(name))).toEqual([]);
});

test("every npm script stands in the developers' guide", () => {
  const scripts = Object.keys((JSON.parse(read("package.json")) as { scripts: Record<string, string> }).scripts);
  expect(scripts).toContain("start");
  expect(scripts.filter((name) => !new RegExp(`npm (run )?${name}\\b`).test(guide))).toEqual([]);
});
