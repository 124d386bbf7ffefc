import "server-only";
import type { Locale } from "@/lib/domain/words/reader";
import { CATALOGUES, type Sentences } from "@/lib/messages/catalogue";
import { say } from "@/lib/messages/say";

const made = new Map<Locale, ReadonlyMap<string, string>>();

/** The shipped exercise's titles and cues in a language, by their English words; sides stay in braces. */
export function shippedWords(locale: Locale): ReadonlyMap<string, string> {
  const known = made.get(locale);
  if (known) return known;
  const [from, to] = [say("exercise"), say("exercise", { locale, voice: "carer" })];
  const words = new Map(keysOf(CATALOGUES[locale].areas["exercise"]).map((key) => [from(key), to(key)] as const));
  made.set(locale, words);
  return words;
}

/** What an exercise is called and its cues say: neither needs a value filled in. */
const keysOf = (exercise: string | Sentences | undefined): readonly string[] => {
  const under = (tree: string | Sentences | undefined, path: string): readonly string[] =>
    typeof tree === "object" ? Object.entries(tree).flatMap(([key, each]) => under(each, `${path}.${key}`)) : tree === undefined ? [] : [path];
  return typeof exercise === "object" ? ["title", "items", "cues"].flatMap((part) => under(exercise[part], part)) : [];
};
