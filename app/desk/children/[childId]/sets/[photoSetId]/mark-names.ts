import type { BoardWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/board-words";
import { readingOf } from "@/lib/domain/marks/angle";
import { labelOf } from "@/lib/domain/marks/draw";
import type { Mark } from "@/lib/domain/marks/marks";
import type { Size } from "@/lib/domain/marks/viewport";

export type ItemOption = { readonly value: string; readonly label: string };

/** Puts values into the words' placeholders. */
export const fill = (words: string, values: Readonly<Record<string, string | number>>): string =>
  Object.entries(values).reduce((text, [name, value]) => text.replace(`{${name}}`, () => String(value)), words);

/** "Arrow 2": its kind and its number among all marks of the photo. */
export const shortName = (mark: Mark, index: number, words: BoardWords): string => fill(words.named, { mark: words[mark.kind], n: index + 1 });

/** As a screen reader says it: with what it measures or says, and its item. */
export function fullName(mark: Mark, index: number, photo: Size & { readonly levelDegrees?: number | null }, items: readonly ItemOption[], words: BoardWords): string {
  const reading = readingOf(mark, photo, photo.levelDegrees ?? null);
  const label = reading === null ? null : labelOf(mark.kind === "line" ? words.labels.level : words.labels.angle, reading).replaceAll("\n", " ");
  const said = label ?? (mark.kind === "note" ? mark.text : null);
  const name = shortName(mark, index, words) + (said === null ? "" : `: ${said}`);
  const item = items.find((each) => each.value === mark.itemKey);
  return item ? fill(words.namedFor, { mark: name, item: item.label }) : name;
}
