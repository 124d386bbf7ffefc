import { describe, expect, test } from "vitest";
// Values of the W3C formula, computed independently; the source stands in the file.
import outside from "@/tests/checks/contrast.json";
import { contrast, linear, luminance } from "@/tests/contract/colour";
import { filesUnder, read } from "@/tests/contract/sources";

const TEXT = 4.5; // SC 1.4.3
const SHAPE = 3; // SC 1.4.11

const css = read("app/tokens.css");
const light = colours(/:root \{([^}]*)\}/.exec(css)?.[1] ?? "");
const dark = { ...light, ...colours(/prefers-color-scheme: dark\) \{\s*:root \{([^}]*)\}/.exec(css)?.[1] ?? "") };
const print = { ...light, ...colours(/@media print \{\s*:root \{([^}]*)\}/.exec(css)?.[1] ?? "") };

function colours(block: string): Readonly<Record<string, string>> {
  return Object.fromEntries([...block.matchAll(/--([\w-]+):\s*(#[0-9a-f]{6})\b/gi)].map(([, name = "", colour = ""]) => [name, colour]));
}

const GROUNDS = ["ground", "paper-2", "paper-3"];
/** What is drawn on what, and how much it must stand out. */
const PAIRS: readonly (readonly [fore: string, back: string, atLeast: number])[] = [
  ...GROUNDS.flatMap((ground) => [
    ["ink", ground, TEXT] as const,
    ["ink-2", ground, TEXT] as const,
    ["accent", ground, TEXT] as const,
    ["stop", ground, TEXT] as const,
    ["line", ground, SHAPE] as const,
    ["focus", ground, SHAPE] as const,
  ]),
  // Links, hints and the focus ring inside a stop and inside a chosen row.
  ...["stop-wash", "accent-wash"].flatMap((wash) => [
    ["accent", wash, TEXT] as const,
    ["ink", wash, TEXT] as const,
    ["ink-2", wash, TEXT] as const,
    ["focus", wash, SHAPE] as const,
  ]),
  ["on-accent", "accent", TEXT],
  ["on-stop", "stop", TEXT],
  ["stop", "stop-wash", TEXT],
  ["ground", "ink", TEXT],
  ["mark", "halo", SHAPE],
];

describe("the formula", () => {
  test("gives the outside values", () => {
    for (const { color, L } of outside.luminance) expect(luminance(color), color).toBeCloseTo(L, 12);
    for (const { v, lin } of outside.linear_channel) expect(linear(v), String(v)).toBeCloseTo(lin, 12);
    for (const { fg, bg, ratio } of outside.pairs) expect(contrast(fg, bg), `${fg} on ${bg}`).toBeCloseTo(ratio, 9);
    expect(outside.pairs.length).toBeGreaterThan(5);
  });
});

describe.each([["light", light], ["dark", dark], ["print", print]] as const)("in %s", (_theme, tokens) => {
  test.each(PAIRS)("%s on %s has at least %d to 1", (fore, back, atLeast) => {
    expect(contrast(tokens[fore] ?? "", tokens[back] ?? "")).toBeGreaterThanOrEqual(atLeast);
  });
});

describe("colours and sizes are stated in the tokens alone", () => {
  const MODULES = filesUnder(["app"], /\.module\.css$/);
  const PAGES = filesUnder(["app"], /\.tsx$/);

  test("no colour and no pixel size in a component's style", () => {
    expect(MODULES.length).toBeGreaterThan(5);
    expect(MODULES.flatMap((path) => literals(read(path)).map((found) => `${path}: ${found}`))).toEqual([]);
  });

  test("every token a component asks for exists", () => {
    const known = new Set([...css.matchAll(/(--[\w-]+)\s*:/g)].map(([, name]) => name));
    const asked = MODULES.flatMap((path) => [...read(path).matchAll(/var\((--[\w-]+)/g)]
      .filter(([, name]) => !known.has(name) && !new RegExp(`${name}\\s*:`).test(read(path)))
      .map(([, name]) => `${path}: ${name}`));
    expect(asked).toEqual([]);
  });

  test("the signal colour is asked for by stops alone", () => {
    const asked = MODULES.flatMap((path) => signalled(read(path)).map((selector) => ({ path, selector })));
    expect(asked.length).toBeGreaterThan(5);
    expect(asked.filter(({ selector }) => !/stop/i.test(selector))).toEqual([]);
  });

  test("no inline style and no colour in a page or component", () => {
    const found = PAGES.flatMap((path) => {
      const text = read(path);
      return [...text.matchAll(/\sstyle=|(?:fill|stroke|color)="#?(?!none|currentColor)[\w#(]+"/g)].map(([match]) => `${path}: ${match.trim()}`);
    });
    expect(found).toEqual([]);
  });

  test("every class a component asks for stands in its style sheet", () => {
    const missing = PAGES.flatMap((path) => [...read(path).matchAll(/import (\w+) from "@\/([^"]+\.module\.css)"/g)].flatMap(([, name = "", sheet = ""]) => {
      const classes = new Set([...read(sheet).matchAll(/\.([a-zA-Z][\w-]*)/g)].map(([, one]) => one));
      return [...read(path).matchAll(new RegExp(`\\b${name}\\.(\\w+)|\\b${name}\\["([\\w-]+)"\\]`, "g"))]
        .map(([, dotted, quoted]) => dotted ?? quoted ?? "").filter((one) => !classes.has(one)).map((one) => `${path}: ${one}`);
    }));
    expect(missing).toEqual([]);
  });

  test("the search finds what it looks for", () => {
    expect(literals("a { color: #fff; width: 3px; background: rgb(0 0 0); border: 1px solid red; }")).toHaveLength(5);
    expect(signalled("@media print { .a { color: var(--ink); } .b { color: var(--on-stop); } }")).toEqual([".b"]);
    expect(literals("a { color: var(--ink); inline-size: 3rem; opacity: 0.5; white-space: nowrap; }")).toEqual([]);
  });
});

/** Colours and pixel sizes written out in a style sheet; comments do not count. Widths in media queries do not know tokens. */
function literals(text: string): readonly string[] {
  const plain = text.replace(/\/\*[\s\S]*?\*\//g, "").replace(/@(?:media|container)[^{]*/g, "");
  return plain.match(/#[0-9a-f]{3,8}\b|\b(?:rgba?|hsla?|oklch|oklab|lab|lch|color)\(|\b\d*\.?\d+px\b|(?<=[:\s])(?:red|white|black|gray|grey|blue|green|orange|yellow|purple)(?=[;\s])/gi) ?? [];
}

/** The selectors of rules that ask for the signal colour, its wash or what is written on it. */
function signalled(text: string): readonly string[] {
  const plain = text.replace(/\/\*[\s\S]*?\*\//g, "");
  return [...plain.matchAll(/([^{}]+)\{([^{}]*)\}/g)].filter(([, , rule = ""]) => /var\(--(?:on-)?stop\b/.test(rule)).map(([, selector = ""]) => selector.trim());
}
