import "server-only";
import type { EditorWords, ShownSetup } from "@/app/desk/cues/cue-editor";
import { patternName } from "@/app/desk/queue-words";
import type { ReadingWords } from "@/app/ui/reading-grade";
import type { ProblemCode } from "@/lib/domain/problem";
import { coveredSetups } from "@/lib/domain/setup/covered-patterns";
import type { Exercise } from "@/lib/domain/setup/exercise";
import { CUE_LENGTH } from "@/lib/domain/words/check-cue";
import { say } from "@/lib/messages/say";

/** The library's page, at one item. */
export const cuesAddress = (exerciseKey: string, itemKey: string): string =>
  `/desk/cues?exercise=${encodeURIComponent(exerciseKey)}#item-${encodeURIComponent(itemKey)}`;

/** `{name}` stays for the screen to fill. */
export function readingWords(): ReadingWords {
  const t = say("cues");
  return {
    figure: t("reading.figure", { grade: "{grade}", ease: "{ease}" }), tooShort: t("reading.tooShort"), simpler: t("reading.simpler"),
    sentence: t("reading.sentence", { n: "{n}", text: "{text}" }), long: t("reading.long", { list: "{list}" }),
  };
}

const CODES: readonly ProblemCode[] = [
  "form-invalid", "cue-empty", "cue-too-long", "cue-characters", "cue-placeholder-unknown", "cue-side-typed", "cue-side-disagree",
  "cue-there-already", "cue-changed",
];

/** What the editor says while a cue is written; `{placeholder}`, `{length}` and `{max}` stay for it to fill. */
function problemsWhileWriting(): Record<string, string> {
  const t = say("problems");
  return Object.fromEntries(CODES.map((code) => [code, t(code, { placeholder: "{placeholder}", length: "{length}", max: "{max}" })]));
}

/** `{words}` and `{placeholder}` stay for the screen to fill. */
export function editorWords(): EditorWords {
  const t = say("cues");
  const common = say("common");
  return {
    words: t("words"), hint: t("wordsHint", { max: CUE_LENGTH }), insert: t("insert"), theirs: t("theirs", { words: "{words}" }), preview: t("preview"),
    previewEmpty: t("previewEmpty"), notOffered: t("notOffered", { placeholder: "{placeholder}" }),
    side: { left: common("side", { side: "left" }), right: common("side", { side: "right" }) }, reading: readingWords(), problems: problemsWhileWriting(),
  };
}

/** The set-ups to show a cue in, each by the curve patterns that get it. */
export const shownSetups = (exercise: Exercise): readonly ShownSetup[] =>
  coveredSetups(exercise).map(({ setup, patterns: [first, ...more] }) => ({
    name: [...(first ? [patternName(first)] : []), ...(more.length > 0 ? [say("cues")("more", { n: more.length })] : [])].join(", "), setup,
  }));
