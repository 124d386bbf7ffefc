import { syllable } from "syllable";

export type Counts = { readonly words: number; readonly sentences: number; readonly syllables: number };

/** Aim for families: grade 6 or below (Am Fam Physician 2015;92:118-124: handouts at 5th to 6th grade). */
export const TARGET_GRADE = 6;
/** One short phrase says nothing about how hard a text is. Our own choice, no source. */
export const FEWEST_WORDS = 8;
/** Words of so many syllables are pointed out. Our own choice, no source. */
const LONG_SYLLABLES = 4;

/** US school grade. Research Branch Report 8-75, Naval Technical Training Command, 1975. Counts are above 0. */
export const gradeOf = ({ words, sentences, syllables }: Counts): number =>
  0.39 * (words / sentences) + 11.8 * (syllables / words) - 15.59;

/** Higher is easier; 121.22 at most. Journal of Applied Psychology 1948;32:221-233. Counts are above 0. */
export const easeOf = ({ words, sentences, syllables }: Counts): number =>
  206.835 - 1.015 * (words / sentences) - 84.6 * (syllables / words);

/** Words and sentences of an English text and its syllables, as counted by the `syllable` package; a placeholder is the one word it becomes. */
export function countsOf(text: string): Counts {
  const sentences = sentencesOf(text);
  const words = sentences.flatMap((sentence) => sentence.words);
  return { words: words.length, sentences: sentences.length, syllables: words.reduce((sum, word) => sum + syllablesOf(word), 0) };
}

export type Reading =
  | { readonly kind: "too-short"; readonly words: number }
  | {
      readonly kind: "judged";
      /** Rounded to one decimal, as it is shown, so that figure and advice never disagree. */
      readonly grade: number;
      /** Whole. */
      readonly ease: number;
      readonly isHard: boolean;
      readonly longestSentence: { readonly text: string; readonly words: number };
      readonly longWords: readonly string[];
    };

/** How hard a text is to read, and what makes it so. Advice for the writer; nothing is refused for it. */
export function readingOf(text: string): Reading {
  const counts = countsOf(text);
  const [first, ...others] = sentencesOf(text);
  if (counts.words < FEWEST_WORDS || first === undefined) return { kind: "too-short", words: counts.words };
  const longest = others.reduce((most, each) => (each.words.length > most.words.length ? each : most), first);
  const long = [first, ...others].flatMap((sentence) => sentence.words).filter((word) => syllablesOf(word) >= LONG_SYLLABLES);
  const grade = Math.round(gradeOf(counts) * 10) / 10;
  return {
    kind: "judged", grade, ease: Math.round(easeOf(counts)), isHard: grade > TARGET_GRADE,
    longestSentence: { text: longest.text, words: longest.words.length },
    longWords: [...new Set(long.map((word) => word.toLowerCase()))],
  };
}

type Sentence = { readonly text: string; readonly words: readonly string[] };

/** Cut at a mark that ends a sentence and at a new line; what holds no word is no sentence. */
function sentencesOf(text: string): readonly Sentence[] {
  return text.split(/(?<=[.!?…]["'”’)]*)\s+|\s*\n\s*/).flatMap((piece) => {
    // LEFT and RIGHT are one word of one syllable each, so either will do.
    const words = piece.replaceAll(/\{[^{}]*\}/g, "LEFT").match(/[\p{L}\p{N}]+(?:['’][\p{L}]+)*/gu) ?? [];
    return words.length > 0 ? [{ text: piece.trim(), words }] : [];
  });
}

/** A number or an abbreviation is at least one. */
const syllablesOf = (word: string): number => Math.max(1, syllable(word));
