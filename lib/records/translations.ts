import "server-only";
import { and, eq } from "drizzle-orm";
import { translations } from "@/db/schema/teaching";
import type { PracticeGrant } from "@/lib/access/grant";
import { refuse, ok, type Result } from "@/lib/domain/result";
import { coveredSetups } from "@/lib/domain/setup/covered-patterns";
import { checkTranslation } from "@/lib/domain/words/check-translation";
import { cueAbout } from "@/lib/domain/words/cue";
import { LOCALES, type Locale } from "@/lib/domain/words/reader";
import { shippedWords } from "@/lib/messages/shipped-words";
import { act } from "@/lib/records/act";
import { libraryOf } from "@/lib/records/cues";
import { exerciseWords } from "@/lib/records/exercise-names";
import { exerciseOf, isExerciseKey } from "@/lib/records/exercises";
import { translationRows } from "@/lib/records/names-in";

export type TranslatedText = {
  /** Which text it is; stays when its words change. */
  readonly about: string;
  readonly source: string;
  readonly words: string | null;
  readonly isShipped: boolean;
  /** What an earlier wording was translated as, while the words in force have no translation. */
  readonly outdated: string | null;
  /** 0 while nobody here wrote one of these words. */
  readonly version: number;
};

/** Every text of an exercise's newest version and its cues on offer, with what a reader of the language gets; null for no such exercise. */
export async function translationsOf(grant: PracticeGrant<"cues.read">, exerciseKey: string, language: Locale, now: number): Promise<readonly TranslatedText[] | null> {
  if (!isExerciseKey(grant.practiceId, exerciseKey)) return null;
  const exercise = exerciseOf(grant.practiceId, exerciseKey);
  const names = exerciseWords(grant.practiceId, exerciseKey, exercise.version);
  const cues = (await libraryOf(grant, exerciseKey, now)).filter((cue) => !cue.isRetired);
  const texts = [
    { about: `title ${exerciseKey}`, source: names.title },
    ...names.cautions.map((source, at) => ({ about: `caution ${exerciseKey} ${at}`, source })),
    ...exercise.items.flatMap(({ key }) => [
      { about: `item ${exerciseKey} ${key}`, source: names.itemTitle(key) },
      ...cues.filter((cue) => cue.itemKey === key).map((cue) => ({ about: cueAbout(exerciseKey, cue.id), source: cue.words })),
    ]),
  ];
  const rows = translationRows(grant.practiceId, language);
  return texts.map(({ about, source }) => {
    const own = rows.findLast((row) => row.about === about && row.source === source);
    const words = own?.words ?? rows.findLast((row) => row.source === source)?.words ?? shippedWords(language).get(source) ?? null;
    return {
      about, source, words, isShipped: own === undefined && words !== null,
      outdated: words === null ? (rows.findLast((row) => row.about === about)?.words ?? null) : null, version: own?.version ?? 0,
    };
  });
}

/** For each language but English, which texts of an exercise a family still reads in English; none for no such exercise. */
export async function untranslatedOf(grant: PracticeGrant<"cues.read">, exerciseKey: string, now: number): Promise<readonly { readonly language: Locale; readonly abouts: readonly string[] }[]> {
  return Promise.all(LOCALES.filter((locale) => locale !== "en").map(async (language) => {
    const texts = await translationsOf(grant, exerciseKey, language, now) ?? [];
    return { language, abouts: texts.filter(({ words }) => words === null).map(({ about }) => about) };
  }));
}

export type TranslationInput = {
  readonly exerciseKey: string;
  readonly language: Locale;
  readonly about: string;
  /** The words it was read beside. */
  readonly source: string;
  readonly words: string;
  readonly version: number;
};

/** Refused: what `checkTranslation` refuses, and `stale-version` when the source or a colleague's translation changed meanwhile. */
export async function saveTranslation(grant: PracticeGrant<"cues.write">, reading: PracticeGrant<"cues.read">, input: TranslationInput, now: number): Promise<Result<null>> {
  const { exerciseKey, language, about, source, version } = input;
  const there = (await translationsOf(reading, exerciseKey, language, now))?.find((each) => each.about === about);
  if (!there || there.source !== source || there.version !== version) return refuse("stale-version");
  const checked = checkTranslation(source, input.words, coveredSetups(exerciseOf(grant.practiceId, exerciseKey)).map((each) => each.setup));
  if (!checked.ok) return checked;
  return act(grant, "translation.saved", now, (tx) => {
    const set = { words: checked.value, version: version + 1, writtenBy: grant.actor.personId, writtenAt: now };
    const id = crypto.randomUUID();
    const { changes } = version === 0
      ? tx.insert(translations).values({ id, practiceId: grant.practiceId, language, about, source, ...set }).onConflictDoNothing().run()
      : tx.update(translations).set(set).where(and(
        eq(translations.practiceId, grant.practiceId), eq(translations.language, language), eq(translations.about, about),
        eq(translations.source, source), eq(translations.version, version),
      )).run();
    return changes === 0 ? refuse("stale-version") : ok({ objectId: about, value: null });
  });
}
