import type { Exercise, ExerciseItem, Variation } from "@/lib/domain/setup/exercise";
import type { ExerciseDraft, ItemDraft, RuleDraft } from "@/lib/domain/setup/exercise-draft";
import { StoredExerciseWords, type ExerciseWords } from "@/lib/domain/setup/exercise-words.schema";
import { ExerciseForm } from "@/lib/domain/setup/exercise.schema";
import type { Phase } from "@/lib/domain/setup/vocabulary";

export type Written = { readonly exercise: Exercise; readonly words: ExerciseWords };

/** The version itself, or null while something is open or does not hold together as an exercise. */
export function buildExercise(draft: ExerciseDraft, key: string, version: number): Written | null {
  const words = StoredExerciseWords.safeParse({
    form: 1, title: draft.title.trim(), items: Object.fromEntries(draft.items.map((item) => [item.key, item.title.trim()])), cautions: draft.cautions.map((each) => each.trim()),
  });
  const exercise = ExerciseForm.safeParse({
    key, version, titleKey: key, phases: draft.phases, dose: draft.dose,
    items: draft.items.map(itemOf), variations: draft.rules.map((rule) => variationOf(draft, rule)),
  });
  return exercise.success && words.success ? { exercise: exercise.data, words: words.data } : null;
}

/** A stop item is always required: without it in place nothing is safe to do. */
const itemOf = ({ title: _title, phase, ...item }: ItemDraft): Omit<ExerciseItem, "phase"> & { readonly phase: Phase | null } =>
  ({ ...item, phase, requiredForGo: item.requiredForGo || item.isStop });

type Open<T> = { readonly [K in keyof T]: T[K] | null };

function variationOf(draft: ExerciseDraft, rule: RuleDraft): Open<Omit<Variation, "when">> & Pick<RuleDraft, "when"> {
  const { propKind, propPlace, breatheInto, activation, ...rest } = rule;
  return {
    ...rest,
    prop: propKind === null || propKind === "none" || propPlace === null ? null : { kind: propKind, place: propPlace },
    breatheInto: breatheInto === "none" ? null : breatheInto,
    activation: activation === "none" ? null : activation,
    phases: phasesOf(draft, rule),
    items: draft.items.map((item) => item.key).filter((each) => rule.items.includes(each)),
  };
}

/** The phases of one rule: the last one exists only where something is done in it. */
export const phasesOf = ({ phases }: ExerciseDraft, { activation }: RuleDraft): readonly Phase[] =>
  phases.filter((phase) => phase !== "activation" || (activation !== null && activation !== "none"));
