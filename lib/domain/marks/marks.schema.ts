import { z } from "zod";
import { photoPoint } from "@/lib/domain/marks/geometry";
import { MARKS_BYTES_LIMIT, MARKS_LIMIT, NOTE_LIMIT, type Mark } from "@/lib/domain/marks/marks";
import { ok, refuse, type Result } from "@/lib/domain/result";

const fraction = z.number().min(0).max(1);
const point = z.strictObject({ x: fraction, y: fraction }).transform(({ x, y }) => photoPoint(x, y));
const common = {
  id: z.string().regex(/^[A-Za-z0-9_-]{1,64}$/),
  itemKey: z.string().regex(/^[a-z0-9-]{1,64}$/).nullable(),
};

/**
 * Characters a note may not hold: control characters (XML refuses them, so the flattened picture
 * would fail), halves of a surrogate pair, and the invisible ones that turn the reading direction,
 * which could make "left" and "right" read in another order than they were typed.
 */
const UNWRITABLE = /[\p{Cc}\p{Cs}\u061C\u200E\u200F\u202A-\u202E\u2066-\u2069\uFFFE\uFFFF]/u;
const noteText = z
  .string()
  .min(1)
  .max(NOTE_LIMIT)
  .refine((text) => text.trim() !== "" && !UNWRITABLE.test(text.replaceAll(/[\n\t]/g, " ")));

const mark = z.discriminatedUnion("kind", [
  z.strictObject({ kind: z.literal("arrow"), ...common, from: point, to: point }),
  z.strictObject({
    kind: z.literal("ring"),
    ...common,
    center: point,
    radiusX: fraction.positive(),
    radiusY: fraction.positive(),
  }),
  z.strictObject({ kind: z.literal("note"), ...common, at: point, text: noteText }),
]);

/** The stored form, version 1. A later version brings its own step from this one. */
export const MarksForm = z.strictObject({
  version: z.literal(1),
  marks: z
    .array(mark)
    .max(MARKS_LIMIT)
    .refine((marks) => new Set(marks.map((each) => each.id)).size === marks.length),
});

/**
 * Marks from their JSON, from the browser or from the database alike. Refused as a whole, with
 * `form-invalid` on the field `marks`, when anything in it is not exactly a mark.
 */
export function parseMarks(json: string): Result<readonly Mark[]> {
  const refused = refuse("form-invalid", { field: "marks" });
  if (new TextEncoder().encode(json).length > MARKS_BYTES_LIMIT) return refused;
  let given: unknown;
  try {
    given = JSON.parse(json);
  } catch (error) {
    if (error instanceof SyntaxError) return refused;
    throw error;
  }
  const parsed = MarksForm.safeParse(given);
  return parsed.success ? ok(parsed.data.marks) : refused;
}

export const serialiseMarks = (marks: readonly Mark[]): string => JSON.stringify({ version: 1, marks });
