import { photoPoint, type PhotoPoint } from "@/lib/domain/marks/geometry";
import { NOTE_LIMIT, type Mark, type MarkKind } from "@/lib/domain/marks/marks";
import { fitOf, type Size, type View } from "@/lib/domain/marks/viewport";

export type NewMark = { readonly id: string; readonly itemKey: string | null };

/** What stands in a note until words are typed. */
export const NO_WORDS = "…";

/**
 * A mark drawn from one place to another; an angle by its third place too. A press without a drag
 * gets a size that can be seen. An angle of two places is still a line: its first arm.
 */
export function drawnMark(kind: MarkKind, places: readonly [PhotoPoint, ...PhotoPoint[]], own: NewMark): Mark {
  const [start] = places;
  const end = places[1] ?? start;
  switch (kind) {
    case "note":
      return { ...own, kind, at: start, text: NO_WORDS };
    case "ring":
      return {
        ...own, kind, center: photoPoint((start.x + end.x) / 2, (start.y + end.y) / 2),
        radiusX: Math.max(Math.abs(end.x - start.x) / 2, 0.03), radiusY: Math.max(Math.abs(end.y - start.y) / 2, 0.03),
      };
    case "arrow":
    case "line":
      return { ...own, kind, from: start, to: isDrag(start, end) ? end : photoPoint(start.x + 0.1, start.y - 0.1) };
    case "angle":
      return places[2] ? { ...own, kind, from: start, vertex: end, to: places[2] } : { ...own, kind: "line", from: start, to: end };
  }
}

const isDrag = (a: PhotoPoint, b: PhotoPoint): boolean => Math.abs(a.x - b.x) + Math.abs(a.y - b.y) >= 0.02;

/** A mark placed without a pointer: in the middle of what is looked at, a fifth of it large. */
export function placedMark(kind: MarkKind, view: View, photo: Size, box: Size, own: NewMark): Mark {
  const fit = fitOf(view, photo, box);
  const [across, down] = [Math.min(1, box.width / fit.width) / 10, Math.min(1, box.height / fit.height) / 10];
  const at = (dx: number, dy: number) =>
    photoPoint((box.width / 2 - fit.left) / fit.width + dx * across, (box.height / 2 - fit.top) / fit.height + dy * down);
  if (kind === "note") return drawnMark(kind, [at(0, 0)], own);
  if (kind === "angle") return drawnMark(kind, [at(1, 0), at(-1, 0), at(0, -1)], own);
  return drawnMark(kind, kind === "line" ? [at(-1, 0), at(1, 0)] : [at(-1, 1), at(1, -1)], own);
}

/** Typed words as a note may hold them: what cannot be stored is left out, nothing typed is `NO_WORDS`. */
export function noteWords(typed: string): string {
  const words = typed.slice(0, NOTE_LIMIT).replaceAll(UNWRITABLE, "");
  return words.trim() === "" ? NO_WORDS : words;
}

/**
 * Characters a note may not hold: control characters (XML refuses them, so the flattened picture
 * would fail), halves of a surrogate pair, and the invisible ones that turn the reading direction,
 * which could make "left" and "right" read in another order than they were typed.
 */
export const UNWRITABLE = /(?![\n\t])[\p{Cc}\p{Cs}\u061C\u200E\u200F\u202A-\u202E\u2066-\u2069\uFFFE\uFFFF]/gu;
