import "server-only";
import { problemText } from "@/app/desk/exercises/words";
import type { Fields } from "@/lib/domain/setup/exercise-fields";
import type { WritingProblem } from "@/lib/domain/setup/write-exercise";

/** The editor's fields as they stand, and what is wrong by field. */
export type EditorForm = {
  readonly value: (name: string) => string | undefined;
  readonly isTicked: (name: string) => boolean;
  readonly error: (name: string) => string | undefined;
  /** Whether anything under a field's name is wrong. */
  readonly hasError: (start: string) => boolean;
};

/** Problems are said once the writer has asked for them. */
export function editorForm(fields: Fields, problems: readonly WritingProblem[]): EditorForm {
  return {
    value: (name) => fields[name],
    isTicked: (name) => fields[name] === "yes",
    error: (name) => problems.filter((each) => each.field === name).map(problemText).join(" ") || undefined,
    hasError: (start) => problems.some((each) => each.field === start || each.field.startsWith(`${start}.`)),
  };
}
