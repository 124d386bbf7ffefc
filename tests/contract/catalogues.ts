import { parse, TYPE, type MessageFormatElement } from "@formatjs/icu-messageformat-parser";
import { filesUnder, read } from "@/tests/contract/sources";

export type Tree = { readonly [key: string]: string | Tree };

/** Every sentence of a catalogue file with its dotted key. */
export function sentences(tree: Tree, above = ""): readonly (readonly [key: string, text: string])[] {
  return Object.entries(tree).flatMap(([key, value]) =>
    typeof value === "string" ? [[`${above}${key}`, value] as const] : sentences(value, `${above}${key}.`),
  );
}

/** The files of one language by their area. */
export const areasOf = (locale: string): ReadonlyMap<string, Tree> =>
  new Map(filesUnder([`lib/messages/${locale}`], /\.json$/).map((path) => [path.replace(/^.*\/(.+)\.json$/, "$1"), JSON.parse(read(path)) as Tree]));

/** "area.key" and text of every sentence of a language. */
export const allOf = (locale: string): ReadonlyMap<string, string> =>
  new Map([...areasOf(locale)].flatMap(([area, tree]) => sentences(tree).map(([key, text]) => [`${area}.${key}`, text] as const)));

/** What a sentence needs filled in, with the cases of a choice; `'{…}'` in quotes, which stays for a form to fill, counts too. */
export function placesOf(text: string): readonly string[] {
  const found = new Set<string>();
  const look = (elements: readonly MessageFormatElement[]): void => {
    for (const element of elements) {
      if (element.type === TYPE.literal) for (const [left] of element.value.matchAll(/\{[^{}]*\}/g)) found.add(`'${left}'`);
      if (element.type === TYPE.literal || element.type === TYPE.pound) continue;
      // A number may be said as such in one language and have its plural in another.
      if (element.type === TYPE.select) found.add(`${element.value}: ${Object.keys(element.options).sort().join(" ")}`);
      else if ("value" in element) found.add(element.value);
      if (element.type === TYPE.select || element.type === TYPE.plural) for (const option of Object.values(element.options)) look(option.value);
    }
  };
  look(parse(text));
  return [...found].sort();
}
