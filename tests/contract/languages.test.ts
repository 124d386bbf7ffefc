import ts from "typescript";
import { describe, expect, test } from "vitest";
import { LOCALES } from "@/lib/domain/words/reader";
import { allOf, areasOf, placesOf } from "@/tests/contract/catalogues";
import { filesUnder, parsed, read, walk } from "@/tests/contract/sources";

/** What a family or a stranger reads; `app/ui` says nothing of its own. */
const THEIRS = filesUnder(["app"], /\.tsx?$/).filter((path) => !/^app\/(?:desk|ui)\//.test(path));
/** How many arguments make the reader or the language plain. */
const WHO_LAST: Readonly<Record<string, number>> = { say: 2, formatDate: 3, formatDateTime: 3, formatTime: 3, formatSoon: 4, formatLocalDate: 2, playerWords: 2, exerciseWords: 4 };

function forgotten(path: string): readonly string[] {
  const file = parsed(path);
  const found: string[] = [];
  walk(file, (node) => {
    if (!ts.isCallExpression(node) || !ts.isIdentifier(node.expression)) return;
    const needed = WHO_LAST[node.expression.text];
    if (needed !== undefined && node.arguments.length < needed) found.push(`${path}: ${node.getText(file)}`);
  });
  return found;
}

test("nothing outside the desk is said without its reader", () => {
  expect(THEIRS).toContain("app/family/page.tsx");
  expect(forgotten("app/desk/families/words.ts").length).toBeGreaterThan(0);
  expect(THEIRS.flatMap(forgotten)).toEqual([]);
});

test.each(LOCALES)("a refusal in %s is whole as it is said, with no place left to be filled in later", (locale) => {
  const refusals = [...allOf(locale)].filter(([key]) => key.startsWith("problems."));
  expect(refusals.length).toBeGreaterThan(50);
  expect(refusals.filter(([, text]) => text.includes("'{"))).toEqual([]);
});

/** Of areas that both sides say, what the desk alone does: it stays in English. A family page that said one would fail in every other language. */
const DESK_ALONE = new RegExp(`^(?:${[
  "archive\\.(?:toDesk|staffNotIn|failedStaff)", "auth\\.people\\..+",
  "clip\\.desk\\..+",
  "cards\\.(?:lost|lostWhat|renew|back|toCard|desk\\..+)",
  "exercise\\.(?:phases|pattern|warnings|sideCheck)\\..+", "exercise\\.items\\.[^.]+\\.question", "exercise\\.coverage\\.(?!family$).+",
  "notices\\.choices\\.(?:newsStaff|alwaysAlarmStaff)", "notices\\.signIn\\..+",
  "pairs\\.(?!family\\.|view\\.|(?:title|earlier|later|sameTime|alt|markedAlt|ofClip)$).+",
  "questions\\.(?:row|rowReplied|rowOpen|childTitle|childNone|desk\\..+|times\\..+)",
  "voice\\.(?:title|recorder\\..+)",
].join("|")})$`);

const ENGLISH = allOf("en");
const AREAS = new Set(THEIRS.flatMap((path) => [...read(path).matchAll(/\bsay\("(\w+)"/g)].map(([, area]) => area)));
const isTheirs = (area: string): boolean => AREAS.has(area) || LOCALES.some((locale) => locale !== "en" && areasOf(locale).has(area));
const FOR_FAMILIES = [...ENGLISH.keys()].filter((key) => isTheirs(key.split(".")[0] ?? "") && !DESK_ALONE.test(key));

describe.each(LOCALES.filter((locale) => locale !== "en"))("the catalogue in %s", (locale) => {
  const theirs = allOf(locale);

  test("says all that families read, and nothing else", () => {
    expect([...AREAS]).toEqual(expect.arrayContaining(["auth", "exercise", "family", "notices", "problems"]));
    expect(FOR_FAMILIES.filter((key) => !theirs.has(key))).toEqual([]);
    expect([...theirs.keys()].filter((key) => !FOR_FAMILIES.includes(key))).toEqual([]);
  });

  test("fills in the same places, with the same cases", () => {
    expect(FOR_FAMILIES.filter((key) => String(placesOf(theirs.get(key) ?? "")) !== String(placesOf(ENGLISH.get(key) ?? "")))).toEqual([]);
  });

  test("leaves nothing in English", () => {
    // Beside the product's name, only sentences without a letter of their own may be the same.
    const own = (text: string) => /\p{L}/u.test(text.replaceAll(/\{[^{}]*\}/g, "")) && text !== "Trueside";
    expect(FOR_FAMILIES.filter((key) => theirs.get(key) === ENGLISH.get(key) && own(ENGLISH.get(key) ?? ""))).toEqual([]);
  });
});

describe.each(LOCALES)("what is said otherwise to who does the exercises, in %s", (locale) => {
  const all = allOf(locale);
  const own = [...all].filter(([key]) => key.startsWith("self.")).map(([key, text]) => [key.slice("self.".length), text] as const);

  test("takes the place of a sentence, and names the same sides", () => {
    expect(own.length).toBeGreaterThan(0);
    const sides = (text: string) => placesOf(text).filter((place) => place.includes("left") || place.includes("'"));
    expect(own.filter(([key, text]) => String(sides(text)) !== String(sides(all.get(key) ?? "no such sentence"))).map(([key]) => key)).toEqual([]);
  });

  test("needs nothing that is not given", () => {
    expect(own.filter(([key, text]) => !placesOf(text).every((place) => placesOf(all.get(key) ?? "").includes(place))).map(([key]) => key)).toEqual([]);
  });
});
