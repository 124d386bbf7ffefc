import { readdirSync, readFileSync } from "node:fs";
import { join, relative } from "node:path";
import { fileURLToPath } from "node:url";
import ts from "typescript";

export const root = fileURLToPath(new URL("../..", import.meta.url));

/** Every file under the given folders or files of the project, as paths from its root, in order. */
export function filesUnder(places: readonly string[], pattern: RegExp): readonly string[] {
  const found = places.flatMap((place) =>
    /\.\w+$/.test(place)
      ? [place]
      : readdirSync(join(root, place), { recursive: true, withFileTypes: true })
        .filter((entry) => entry.isFile())
        .map((entry) => relative(root, join(entry.parentPath, entry.name))),
  );
  return found.filter((path) => pattern.test(path)).sort();
}

export const read = (path: string): string => readFileSync(join(root, path), "utf8");

export const parsed = (path: string): ts.SourceFile => ts.createSourceFile(path, read(path), ts.ScriptTarget.Latest, true);

/** One value a module exports: its name and what it is made by. Types are left out. */
export type Export = { readonly name: string; readonly node: ts.Node; readonly maker: string | null };

/** Everything a module exports at run time; `export *` and lists are given with no maker, so that rules refuse them. */
export function valueExports(file: ts.SourceFile): readonly Export[] {
  return file.statements.flatMap((statement): Export[] => {
    if (ts.isExportDeclaration(statement)) {
      return statement.isTypeOnly ? [] : [{ name: statement.getText(), node: statement, maker: null }];
    }
    if (ts.isExportAssignment(statement)) return [{ name: "default", node: statement, maker: null }];
    if (!isExported(statement)) return [];
    if (ts.isVariableStatement(statement)) {
      return statement.declarationList.declarations.map((declaration) => ({
        name: declaration.name.getText(), node: declaration.initializer ?? declaration, maker: makerOf(declaration.initializer),
      }));
    }
    if (ts.isFunctionDeclaration(statement) || ts.isClassDeclaration(statement) || ts.isEnumDeclaration(statement)) {
      return [{ name: statement.name?.text ?? "default", node: statement, maker: null }];
    }
    return [];
  });
}

function isExported(statement: ts.Statement): boolean {
  return ts.canHaveModifiers(statement) && (ts.getModifiers(statement) ?? []).some(({ kind }) => kind === ts.SyntaxKind.ExportKeyword);
}

function makerOf(value: ts.Expression | undefined): string | null {
  return value && ts.isCallExpression(value) && ts.isIdentifier(value.expression) ? value.expression.text : null;
}

/** Calls `visit` for every node of a file. */
export function walk(node: ts.Node, visit: (node: ts.Node) => void): void {
  visit(node);
  node.forEachChild((child) => walk(child, visit));
}
