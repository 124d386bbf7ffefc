import { parse, TYPE, type MessageFormatElement } from "@formatjs/icu-messageformat-parser";
import { createTranslator } from "use-intl/core";
import { describe, expect, test } from "vitest";
import { SIDES, type Side } from "@/lib/domain/sides";
import { LOCALES, type Locale } from "@/lib/domain/words/reader";
import { allOf } from "@/tests/contract/catalogues";

/** Every form in which a language names a side; written here by hand, apart from the catalogue. */
const SIDE_WORDS: Readonly<Record<Locale, Readonly<Record<Side, RegExp>>>> = {
  en: { left: /\bleft\b/gi, right: /\bright\b/gi },
  es: { left: /\bizquierd[oa]s?\b|\bizqd?[oa]?\./gi, right: /\bderech[oa]s?\b|\bd(?:er|ch)[oa]?\./gi },
};
/** "right" is also "correct" and "straight away" in English, so there only capitals, the app's own way to name a side, count. */
const PLAIN_WORDS: Readonly<Record<Locale, Readonly<Record<Side, RegExp>>>> = { ...SIDE_WORDS, en: { left: /\bLEFT\b/g, right: /\bRIGHT\b/g } };

const count = (text: string, word: RegExp): number => [...text.matchAll(word)].length;

/** The arguments by which a sentence chooses a side. */
function sideArguments(text: string): ReadonlySet<string> {
  const found = new Set<string>();
  const look = (elements: readonly MessageFormatElement[]): void => {
    for (const element of elements) {
      if (element.type !== TYPE.select && element.type !== TYPE.plural) continue;
      if ("left" in element.options) found.add(element.value);
      for (const option of Object.values(element.options)) look(option.value);
    }
  };
  look(parse(text));
  return found;
}

function saidFor(locale: Locale, text: string, sides: Readonly<Record<string, Side>>): readonly string[] {
  const t = createTranslator({ locale, timeZone: "UTC", messages: { text } }) as unknown as (key: string, values: object) => string;
  const others = { child: "Ada", item: "x", region: "lumbar", breaths: 5, times: 4, n: 2, degrees: "7", apex: "T9" };
  return ["leg", "arm"].map((about) => t("text", { ...others, about, ...sides }));
}

/** The side a sentence is about by its key, such as `headLeft`; a letter alone, what remains, and what is as it should be are none. */
const sideOfKey = (key: string): Side | null => /letters\.|shareLeft|sideRight|looks-right/.test(key) ? null :
  SIDES.find((side) => new RegExp(`\\b${side}\\b|${side === "left" ? "Left" : "Right"}$`).test(key.split(".").at(-1) ?? "")) ?? null;

/** What is wrong with a sentence's sides; null when nothing is. */
function fault(locale: Locale, key: string, text: string): string | null {
  const names = [...sideArguments(text)];
  const ofKey = sideOfKey(key);
  for (const side of SIDES) {
    const other = side === "left" ? "right" : "left";
    const [own, wrong] = [SIDE_WORDS[locale][side], SIDE_WORDS[locale][other]];
    for (const name of names) {
      // One argument of this side and the others of the other: its own is said too.
      const some = saidFor(locale, text, Object.fromEntries(names.map((each) => [each, each === name ? side : other])));
      const every = saidFor(locale, text, Object.fromEntries(names.map((each) => [each, side])));
      if (some.some((said) => count(said, own) < 1) || every.some((said) => count(said, wrong) > 0)) return `${name}=${side}: ${some[0]}`;
    }
    if (names.length === 0 && ofKey === side && (count(text, own) < 1 || count(text, wrong) > 0)) return `says ${side}: ${text}`;
    if (names.length === 0 && ofKey === null && count(text, PLAIN_WORDS[locale][side]) > 0 && count(text, PLAIN_WORDS[locale][other]) === 0) return `${side} by hand: ${text}`;
  }
  return null;
}

const faults = (locale: Locale, all: ReadonlyMap<string, string>): readonly string[] =>
  [...all].flatMap(([key, text]) => {
    const found = fault(locale, key, text);
    return found === null ? [] : [`${key}: ${found}`];
  });

/** Each catalogue with one sentence's sides exchanged, as a translator's slip would. */
const swapped = (text: string): string =>
  text.replaceAll(/(left|right) \{([^{}]*)\}/g, (_whole, side: string, word: string) => `${side === "left" ? "right" : "left"} {${word}}`);

describe.each(LOCALES)("sides in %s", (locale) => {
  const all = allOf(locale);
  const naming = [...all].filter(([, text]) => sideArguments(text).size > 0);

  test("every sentence says the side it is given, and no other", () => {
    expect(naming.length).toBeGreaterThan(20);
    expect(faults(locale, all)).toEqual([]);
  });

  test("any one sentence with its sides exchanged is found", () => {
    expect(naming.filter(([key, text]) => fault(locale, key, swapped(text)) === null).map(([key]) => key)).toEqual([]);
  });

  test("one word exchanged, and both given the same word, are found", () => {
    const slips = naming.flatMap(([key, text]) => [...text.matchAll(/left \{([^{}]*)\} right \{([^{}]*)\}/g)].flatMap(([whole, left, right]) => [
      [key, text.replace(whole, `left {${left}} right {${left}}`)] as const, [key, text.replace(whole, `left {${right}} right {${right}}`)] as const,
    ]));
    expect(slips.length).toBeGreaterThanOrEqual(2 * naming.length);
    expect(slips.filter(([key, text]) => fault(locale, key, text) === null)).toEqual([]);
  });

  test("the two answers of a stop's question exchanged are found", () => {
    const [left, right] = ["family.readBack.choice.left", "family.readBack.choice.right"] as const;
    const wrong = new Map(all).set(left, all.get(right) ?? "").set(right, all.get(left) ?? "");
    expect(faults(locale, wrong).map((each) => each.split(": ")[0])).toEqual(expect.arrayContaining([left, right]));
  });

  test("a side typed by hand is found", () => {
    const word = locale === "en" ? "LEFT" : "izquierdo";
    expect(faults(locale, new Map(all).set("family.photosOff", `Lie on the ${word} side.`))).toHaveLength(1);
  });
});

test("every language names a side in the same sentences", () => {
  const named = (locale: Locale) => [...allOf(locale)].filter(([, text]) => sideArguments(text).size > 0).map(([key]) => key);
  const english = new Set(named("en"));
  for (const locale of LOCALES) expect(named(locale).filter((key) => !english.has(key))).toEqual([]);
});
