import "server-only";
import { once } from "@/lib/domain/once";
import type { ExerciseWords } from "@/lib/domain/setup/exercise-words.schema";
import type { Exercise } from "@/lib/domain/setup/exercise";
import type { Locale } from "@/lib/domain/words/reader";
import catalogue from "@/lib/messages/en/exercise.json";
import { ruleWords } from "@/lib/messages/rule-words";
import { say } from "@/lib/messages/say";
import { isBuiltIn, writtenVersions } from "@/lib/records/exercises";
import { namesIn } from "@/lib/records/names-in";

/** What an exercise and its items are called. Never throws: what was judged once keeps a name for ever. */
export type ExerciseNames = {
  readonly title: string;
  readonly itemTitle: (itemKey: string) => string;
  readonly cautions: readonly string[];
  /** Which backs a rule is for; null for one that nobody knows. */
  readonly variation: (key: string) => string | null;
  /** A cue as it was sent, or the same in the reader's language. */
  readonly cue: (given: GivenCue) => string | null;
  /** Set for a text that stands here in another language than the reader's. */
  readonly languageOf: (text: string) => Locale | undefined;
};

/** What a verdict keeps of its cue. */
export type GivenCue = { readonly itemKey: string; readonly cueId: string | null; readonly cue: string | null; readonly sidesKey: string };

/**
 * The words of one version, or of the newest (`null`), in a language. An item which that version does not have keeps
 * the name another version gave it, so that what was answered stays readable.
 */
export function exerciseWords(practiceId: string, key: string, version: number | null, locale: Locale = "en"): ExerciseNames {
  const written = isBuiltIn(key) ? [] : writtenVersions(practiceId, key);
  const own = written.find((each) => each.exercise.version === version) ?? written[0];
  const every = own ? [own, ...written] : [];
  const english: ExerciseNames = {
    title: own?.words.title ?? shipped(catalogue.title, key, `title.${key}`) ?? plain(key),
    itemTitle: (itemKey) => {
      const named = every.find((each) => Object.hasOwn(each.words.items, itemKey))?.words.items[itemKey];
      return named ?? shipped(catalogue.items, itemKey, `items.${itemKey}.title`) ?? plain(itemKey);
    },
    cautions: own?.words.cautions ?? [],
    variation: (variation) => {
      const rule = own?.exercise.variations.find((each) => each.key === variation);
      return rule ? ruleWords(rule) : shipped(catalogue.coverage, variation, `coverage.${variation}`);
    },
    cue: (given) => given.cue, languageOf: () => undefined,
  };
  return locale === "en" ? english : namesIn(english, practiceId, key, locale);
}

/** The words of each version, read once however many rows say it. */
export function naming(practiceId: string, locale: Locale = "en"): (key: string, version: number | null) => ExerciseNames {
  const words = once(({ key, version }: { readonly key: string; readonly version: number | null }) => exerciseWords(practiceId, key, version, locale), ({ key, version }) => `${key} ${version}`);
  return (key, version) => words({ key, version });
}

const shipped = (part: object, key: string, path: string): string | null => (Object.hasOwn(part, key) ? say("exercise")(path) : null);

const plain = (key: string): string => key.replaceAll("-", " ");

/** The words of one version as a therapist could have written them, for a version made from it. */
export function writtenWords(practiceId: string, exercise: Exercise): ExerciseWords {
  const { title, itemTitle, cautions } = exerciseWords(practiceId, exercise.key, exercise.version);
  return { form: 1, title, items: Object.fromEntries(exercise.items.map((item) => [item.key, itemTitle(item.key)])), cautions };
}
