import "server-only";
import { and, eq } from "drizzle-orm";
import { database } from "@/db/client";
import { cues, translations } from "@/db/schema/teaching";
import { sidesOfKey, type CueSides } from "@/lib/domain/setup/setup-sides";
import { aboutOf, cueAbout, fillCue, joined, ownWordsIn, type Placeholder } from "@/lib/domain/words/cue";
import type { Locale } from "@/lib/domain/words/reader";
import type { Side } from "@/lib/domain/sides";
import { say } from "@/lib/messages/say";
import { shippedWords } from "@/lib/messages/shipped-words";
import { starterCues } from "@/lib/messages/starter-cues";
import type { ExerciseNames, GivenCue } from "@/lib/records/exercise-names";

/** The practice's own translations of a language, whatever they were made from. */
export const translationRows = (practiceId: string, language: Locale) =>
  database().select({ about: translations.about, source: translations.source, words: translations.words, version: translations.version, writtenAt: translations.writtenAt })
    .from(translations).where(and(eq(translations.practiceId, practiceId), eq(translations.language, language))).orderBy(translations.writtenAt).all();

/**
 * An exercise's words in another language: the practice's translation, else the shipped one, of these very words; else
 * the English, which `languageOf` then says. A cue is translated only where its source, filled with the sides it was
 * given for, is word for word what the therapist sent, so that no side is ever read from a text.
 */
export function namesIn(english: ExerciseNames, practiceId: string, exerciseKey: string, locale: Locale): ExerciseNames {
  const rows = translationRows(practiceId, locale);
  const shipped = shippedWords(locale);
  const inEnglish = new Set<string>();
  const translated = (source: string): string | null => rows.findLast((row) => row.source === source)?.words ?? shipped.get(source) ?? null;
  const said = (source: string): string => {
    const words = translated(source);
    if (words === null) inEnglish.add(source);
    return words ?? source;
  };
  const [side, ofCue] = [say("common"), say("exercise", { locale, voice: "carer" })];
  const inWords = (each: Side, placeholder: Placeholder) => ofCue("cueSide", { side: each, about: aboutOf(placeholder) });

  function cue({ itemKey, cueId, cue: given, sidesKey }: GivenCue): string | null {
    const sides = sidesOfKey(sidesKey);
    if (given === null || cueId === null || sides === null) return given;
    for (const source of sourcesOf(practiceId, exerciseKey, itemKey, cueId, rows)) {
      const filled = filledWith(source, sides, (each) => side("side", { side: each }));
      const own = filled === null ? null : ownWordsIn(given, filled);
      if (own === null) continue;
      const words = translated(source);
      const inLocale = words === null ? null : filledWith(words, sides, inWords);
      if (inLocale !== null) return joined(inLocale, own);
      // Own words may be in any language: only a cue alone is surely English.
      if (own === "") inEnglish.add(given);
    }
    return given;
  }

  return {
    title: said(english.title), itemTitle: (itemKey) => said(english.itemTitle(itemKey)), cautions: english.cautions.map(said),
    variation: english.variation, cue, languageOf: (text) => (inEnglish.has(text) ? "en" : undefined),
  };
}

function filledWith(cue: string, sides: CueSides, word: (side: Side, placeholder: Placeholder) => string): string | null {
  const filled = fillCue(cue, sides, word);
  return filled.ok ? filled.value : null;
}

/** Every wording of one cue that is known: as shipped, as it stands in the library, and what was translated before it changed. */
function sourcesOf(practiceId: string, exerciseKey: string, itemKey: string, cueId: string, rows: ReturnType<typeof translationRows>): readonly string[] {
  const inLibrary = database().select({ id: cues.id, starterKey: cues.starterKey, words: cues.words }).from(cues)
    .where(and(eq(cues.practiceId, practiceId), eq(cues.exerciseKey, exerciseKey))).all();
  return [
    ...starterCues(itemKey).filter(({ key }) => key === cueId).map(({ words }) => words),
    ...rows.filter((row) => row.about === cueAbout(exerciseKey, cueId)).map((row) => row.source),
    ...inLibrary.filter((row) => (row.starterKey ?? row.id) === cueId).map((row) => row.words),
  ];
}
