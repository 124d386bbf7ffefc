import { existsSync } from "node:fs";
import { dirname, join } from "node:path";
import ts from "typescript";
import { expect, test } from "vitest";
import { filesUnder, parsed, root } from "@/tests/contract/sources";

/** Heavier than all that most pages bring along: what reads forms stays on the server. */
const KEPT_BACK = ["zod"];

const islands = filesUnder(["app"], /\.tsx?$/).filter((path) => startsWith(path, "use client"));

function startsWith(path: string, directive: string): boolean {
  const [first] = parsed(path).statements;
  return first !== undefined && ts.isExpressionStatement(first) && ts.isStringLiteral(first.expression) && first.expression.text === directive;
}

/** What a module brings along at once: types are gone by then, and an `import()` comes later. */
function broughtBy(path: string): readonly string[] {
  return parsed(path).statements.flatMap((statement) => {
    if (ts.isImportDeclaration(statement)) return isTypeOnly(statement.importClause) ? [] : [nameOf(statement.moduleSpecifier)];
    return ts.isExportDeclaration(statement) && statement.moduleSpecifier && !statement.isTypeOnly ? [nameOf(statement.moduleSpecifier)] : [];
  });
}

const nameOf = (specifier: ts.Expression): string => (ts.isStringLiteral(specifier) ? specifier.text : "");

function isTypeOnly(clause: ts.ImportClause | undefined): boolean {
  if (!clause) return false;
  if (clause.isTypeOnly) return true;
  return !clause.name && clause.namedBindings !== undefined && ts.isNamedImports(clause.namedBindings) && clause.namedBindings.elements.every((each) => each.isTypeOnly);
}

const fileOf = (name: string, from: string): string | undefined => {
  const base = name.startsWith("@/") ? name.slice(2) : name.startsWith(".") ? join(dirname(from), name) : null;
  return base === null ? undefined : [base, `${base}.ts`, `${base}.tsx`].find((path) => /\.\w+$/.test(path) && existsSync(join(root, path)));
};

/** The way from a component to a package, module by module; null where there is none. Acts stay on the server. */
function wayTo(names: readonly string[], path: string, seen: Set<string>): readonly string[] | null {
  if (seen.has(path) || startsWith(path, "use server")) return null;
  seen.add(path);
  for (const name of broughtBy(path)) {
    if (names.includes(name)) return [path, name];
    const next = fileOf(name, path);
    const way = next && /\.tsx?$/.test(next) ? wayTo(names, next, seen) : null;
    if (way) return [path, ...way];
  }
  return null;
}

test.each(KEPT_BACK)("no page brings %s along", (name) => {
  expect(islands.length).toBeGreaterThan(50);
  const seen = new Set<string>();
  expect(islands.flatMap((path) => wayTo([name], path, seen) ?? [])).toEqual([]);
});

test("a component that did would be found, however far away the import stands", () => {
  expect(wayTo(["zod"], "app/language/actions.ts", new Set())).toBeNull();
  expect(wayTo(["zod"], "lib/records/translations.ts", new Set())).not.toBeNull();
  expect(wayTo(["react"], "app/ui/action-form.tsx", new Set())).toEqual(["app/ui/action-form.tsx", "react"]);
});
