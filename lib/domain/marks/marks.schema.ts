import { z } from "zod";
import { photoPoint } from "@/lib/domain/marks/geometry";
import { MARKS_BYTES_LIMIT, MARKS_LIMIT, NOTE_LIMIT, type Mark } from "@/lib/domain/marks/marks";
import { UNWRITABLE } from "@/lib/domain/marks/new-mark";
import { ok, refuse, type Result } from "@/lib/domain/result";

const fraction = z.number().min(0).max(1);
const point = z.strictObject({ x: fraction, y: fraction }).transform(({ x, y }) => photoPoint(x, y));
const common = {
  id: z.string().regex(/^[A-Za-z0-9_-]{1,64}$/),
  itemKey: z.string().regex(/^[a-z0-9-]{1,64}$/).nullable(),
};

const noteText = z
  .string()
  .min(1)
  .max(NOTE_LIMIT)
  .refine((text) => text.trim() !== "" && text.search(UNWRITABLE) === -1);

const arrow = z.strictObject({ kind: z.literal("arrow"), ...common, from: point, to: point });
const ring = z.strictObject({ kind: z.literal("ring"), ...common, center: point, radiusX: fraction.positive(), radiusY: fraction.positive() });
const line = z.strictObject({ kind: z.literal("line"), ...common, from: point, to: point });
const angle = z.strictObject({ kind: z.literal("angle"), ...common, from: point, vertex: point, to: point });
const note = z.strictObject({ kind: z.literal("note"), ...common, at: point, text: noteText });

const upToLimit = <Each extends z.ZodType<Mark>>(each: Each) =>
  z.array(each).max(MARKS_LIMIT).refine((marks) => new Set(marks.map(({ id }) => id)).size === marks.length);

/** The first stored form knew no line and no angle; an object of it that holds one was never ours. */
const First = z.strictObject({ version: z.literal(1), marks: upToLimit(z.discriminatedUnion("kind", [arrow, ring, note])) });
const Second = z.strictObject({ version: z.literal(2), marks: upToLimit(z.discriminatedUnion("kind", [arrow, ring, line, angle, note])) });

/** From version 1 to 2: every mark of version 1 means the same in version 2. */
const toSecond = ({ marks }: z.output<typeof First>): z.output<typeof Second> => ({ version: 2, marks });

/** The stored form, version 2, and the step from the version before. A later one brings its own step from this one. */
export const MarksForm = z.union([Second, First.transform(toSecond)]);

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

/** Marks of a draft, which nobody has looked at yet: none where its text is not exactly marks. */
export function marksIn(json: string | undefined): readonly Mark[] {
  const parsed = parseMarks(json ?? "");
  return parsed.ok ? parsed.value : [];
}
