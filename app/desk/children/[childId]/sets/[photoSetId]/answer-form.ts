import "server-only";
import { z } from "zod";
import { givenVerdicts } from "@/app/desk/children/[childId]/sets/[photoSetId]/given-verdicts";
import type { ChildGrant } from "@/lib/access/grant";
import { NEXT_STEPS } from "@/lib/domain/answering/check-answer";
import { PAIR_FIELDS, readPair } from "@/lib/domain/answering/pair";
import { readSpan, spanField } from "@/lib/domain/clip/span";
import { parseMarks } from "@/lib/domain/marks/marks.schema";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { VIEWS } from "@/lib/domain/setup/vocabulary";
import type { AnswerInput } from "@/lib/records/answer-content";
import { deskOf } from "@/lib/records/answering";

type Fields = Readonly<Record<string, string | readonly string[]>>;

/** Everything of the form that does not go by item or photo. */
const Rest = z.object({
  photoSetId: z.string().max(64),
  summary: z.string().max(2000),
  nextStep: z.enum(NEXT_STEPS),
  nextView: z.enum([...VIEWS, "any"]).default("any"),
  sideReason: z.string().max(500).default(""),
  wordsConfirmed: z.literal("yes").optional(),
});

/** The answering form as the answer it means; fields go as in `givenVerdicts`, and by `marks.PHOTO`. */
export async function readAnswer(grant: ChildGrant<"answer.write">, fields: Fields, now: number): Promise<Result<AnswerInput>> {
  const rest = Rest.safeParse(fields);
  if (!rest.success) return refuse("form-invalid", { field: String(rest.error.issues[0]?.path[0] ?? "") });
  const { photoSetId, summary, nextStep, nextView, sideReason, wordsConfirmed } = rest.data;
  const desk = await deskOf(grant, photoSetId, now);
  if (!desk) return refuse("form-invalid", { field: "photoSetId" });
  const one = (name: string): string => {
    const value = fields[name];
    return typeof value === "string" ? value : "";
  };
  const { exerciseKey, resolution, rows } = desk.set;
  const verdicts = await givenVerdicts(grant.actor, { exerciseKey, setup: resolution.setup, rows }, one, now);
  if (!verdicts.ok) return verdicts;
  const marks: { photoId: string; marks: AnswerInput["marks"][number]["marks"] }[] = [];
  for (const { photoId } of [...desk.set.photos, ...desk.set.moments]) {
    const json = one(`marks.${photoId}`);
    if (json === "") continue;
    const drawn = parseMarks(json);
    if (!drawn.ok) return drawn;
    if (drawn.value.length > 0) marks.push({ photoId, marks: drawn.value });
  }
  const spans: AnswerInput["spans"][number][] = [];
  for (const { photoId } of desk.set.photos) {
    const said = one(spanField(photoId));
    if (said === "") continue;
    const span = readSpan(said);
    if (!span) return refuse("form-invalid", { field: spanField(photoId) });
    spans.push({ photoId, ...span });
  }
  return ok({
    photoSetId, verdicts: verdicts.value, summary, nextStep, nextView: nextView === "any" ? null : nextView, sideReason,
    wordsConfirmed: wordsConfirmed === "yes", marks, spans, pairs: PAIR_FIELDS.map(one).filter((each) => each !== "").map(readPair), voiceNoteId: one("voice") || null,
  });
}
