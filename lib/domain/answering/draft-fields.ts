/** The answering form by field name, as typed, chosen and drawn. */
export type DraftFields = Readonly<Record<string, string>>;

/** What a form carries besides what the therapist wrote: never a difference between two drafts. */
const CARRIED = ["once", "childId", "familyId", "photoSetId", "amends"];

/** What the therapist wrote of a form's entries: no empty fields, nothing of the framework's own (`$…`). */
export const written = (entries: Iterable<readonly [string, unknown]>): DraftFields =>
  Object.fromEntries([...entries].flatMap(([name, value]) =>
    typeof value === "string" && value !== "" && !name.startsWith("$") && !CARRIED.includes(name) ? [[name, value] as const] : []));

/** The names of the fields in which two drafts differ, in the order they first stand; an empty field is a missing one. */
export function differing(one: DraftFields, other: DraftFields): readonly string[] {
  const names = [...new Set([...Object.keys(one), ...Object.keys(other)])].filter((name) => !CARRIED.includes(name));
  return names.filter((name) => (one[name] ?? "") !== (other[name] ?? ""));
}

/** One draft with the named fields of another, whether they hold something there or not. */
export function withFields(one: DraftFields, other: DraftFields, names: readonly string[]): DraftFields {
  const taken = Object.entries(other).filter(([name]) => names.includes(name));
  return Object.fromEntries([...Object.entries(one).filter(([name]) => !names.includes(name)), ...taken]);
}
