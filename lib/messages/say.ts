import "server-only";
import { createTranslator } from "use-intl/core";
import { DESK, type Locale, type Reader } from "@/lib/domain/words/reader";
import { CATALOGUES, type Area, type Sentences } from "@/lib/messages/catalogue";

/** Words of one area; keys may be dotted. Throws on an unknown key, so that a missing sentence fails a test. */
export type Say = (key: string, values?: Readonly<Record<string, string | number>>) => string;

/**
 * The words of an area as this reader is spoken to. Pages of a family and of strangers always name the reader, which a
 * contract test holds them to; without one they are the desk's.
 */
export function say(area: Area, { locale, voice }: Reader = DESK): Say {
  const translate = translatorOf(locale, voice);
  return (key, values) => translate(`${area}.${key}`, values);
}

const made = new Map<string, Say>();

/** One for each language and voice, since it keeps what it has parsed. */
function translatorOf(locale: Locale, voice: Reader["voice"]): Say {
  const known = made.get(`${locale} ${voice}`);
  if (known) return known;
  const { areas, self } = CATALOGUES[locale];
  const translate = createTranslator({
    locale,
    timeZone: "UTC",
    messages: voice === "self" ? laidOver(areas, self) : areas,
    onError: (error) => {
      throw error;
    },
  });
  // Keys are composed at run time (item and reason keys), which the typed translator cannot follow.
  const untyped = translate as unknown as Say;
  // A page says hundreds of sentences that nothing is put into; they come out the same for ever.
  const plain = new Map<string, string>();
  const saying: Say = (key, values) => {
    if (values) return untyped(key, values);
    const words = plain.get(key) ?? untyped(key);
    plain.set(key, words);
    return words;
  };
  made.set(`${locale} ${voice}`, saying);
  return saying;
}

/** The first with every sentence that the second says otherwise. */
function laidOver(under: Sentences, over: Sentences): Sentences {
  const both = Object.entries(over).map(([key, words]) => {
    const below = under[key];
    return [key, typeof words === "string" || typeof below !== "object" ? words : laidOver(below, words)] as const;
  });
  return { ...under, ...Object.fromEntries(both) };
}
