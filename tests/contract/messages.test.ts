import { parse } from "@formatjs/icu-messageformat-parser";
import ts from "typescript";
import { describe, expect, test } from "vitest";
import { PROBLEM_CODES } from "@/lib/domain/problem";
import { LOCALES } from "@/lib/domain/words/reader";
import problems from "@/lib/messages/en/problems.json";
import { areasOf, sentences } from "@/tests/contract/catalogues";
import { filesUnder, parsed, walk } from "@/tests/contract/sources";

const AREAS = areasOf("en");
const KEYS = new Map([...AREAS].map(([area, tree]) => [area, new Set(sentences(tree).map(([key]) => key))]));

describe("the message catalogue", () => {
  test.each(LOCALES.flatMap((locale) => [...areasOf(locale)].map(([area, tree]) => [`${locale}/${area}`, tree] as const)))("%s: every sentence is a message that can be said", (_area, tree) => {
    const all = sentences(tree);
    for (const [key, text] of all) {
      expect(() => parse(text), `${key}: ${text}`).not.toThrow();
      expect(text.trim(), key).not.toBe("");
    }
  });

  test("the parser refuses what is no message", () => {
    expect(() => parse("{n, plural, one {a}")).toThrow();
    expect(() => parse("Hello {name")).toThrow();
  });

  test("every problem has its sentence, saying what is so and what to do", () => {
    const said = problems as Readonly<Record<string, string>>;
    expect(PROBLEM_CODES.filter((code) => !(code in said))).toEqual([]);
    expect(Object.keys(said).filter((code) => !(PROBLEM_CODES as readonly string[]).includes(code))).toEqual([]);
    // One sentence says what happened, at least one more what is safe or what to do now.
    expect(Object.entries(said).filter(([, text]) => (text.match(/[.?!](?=\s|$|\})/g) ?? []).length < 2).map(([code]) => code)).toEqual([]);
  });

  test("every key that a page says by name is there", () => {
    const missing: string[] = [];
    let isSaid = 0;
    for (const path of filesUnder(["app", "lib"], /\.tsx?$/)) {
      const areaOf = new Map<string, string>();
      const file = parsed(path);
      walk(file, (node) => {
        if (ts.isVariableDeclaration(node) && ts.isIdentifier(node.name)) {
          const area = areaSaid(node.initializer);
          if (area) areaOf.set(node.name.text, area);
        }
      });
      walk(file, (node) => {
        if (!ts.isCallExpression(node)) return;
        const area = ts.isIdentifier(node.expression) ? areaOf.get(node.expression.text) : areaSaid(node.expression);
        const key = node.arguments[0];
        if (!area || !key || !ts.isStringLiteralLike(key)) return;
        isSaid += 1;
        if (!KEYS.get(area)?.has(key.text)) missing.push(`${path}: ${area}.${key.text}`);
      });
    }
    expect(isSaid).toBeGreaterThan(0);
    expect(missing).toEqual([]);
  });
});

function areaSaid(node: ts.Node | undefined): string | null {
  if (!node || !ts.isCallExpression(node) || !ts.isIdentifier(node.expression) || node.expression.text !== "say") return null;
  const area = node.arguments[0];
  return area && ts.isStringLiteralLike(area) ? area.text : null;
}
