import type { PhotoPoint } from "@/lib/domain/marks/geometry";

/** Limits of what is stored with one photo (the byte limit is on its JSON, in UTF-8). */
export const MARKS_LIMIT = 60;
export const NOTE_LIMIT = 280;
export const MARKS_BYTES_LIMIT = 256 * 1024;

/** `itemKey`: the checklist item a mark belongs to, or null. */
type Common = { readonly id: string; readonly itemKey: string | null };

export type Arrow = Common & { readonly kind: "arrow"; readonly from: PhotoPoint; readonly to: PhotoPoint };
/** Radii are fractions of the photo's width and height. */
export type Ring = Common & {
  readonly kind: "ring";
  readonly center: PhotoPoint;
  readonly radiusX: number;
  readonly radiusY: number;
};
export type Note = Common & { readonly kind: "note"; readonly at: PhotoPoint; readonly text: string };

export type Mark = Arrow | Ring | Note;
