/** A part of a clip to be repeated, in milliseconds of its time. */
export type ClipSpan = { readonly fromMs: number; readonly toMs: number };

/** A part shorter than this is a still. */
export const SHORTEST_SPAN_MS = 200;

/** The answering form's field that holds it, by the photo whose clip it is of. */
export const spanField = (photoId: string): string => `span.${photoId}`;
export const spellSpan = ({ fromMs, toMs }: ClipSpan): string => `${fromMs}-${toMs}`;

/** Null for what is no span. */
export function readSpan(text: string): ClipSpan | null {
  const [, from, to] = /^(\d{1,7})-(\d{1,7})$/.exec(text) ?? [];
  const span = { fromMs: Number(from), toMs: Number(to) };
  return span.toMs - span.fromMs >= SHORTEST_SPAN_MS ? span : null;
}
