import "server-only";
import { z } from "zod";
import type { ChildGrant } from "@/lib/access/grant";
import type { GivenVerdict } from "@/lib/domain/answering/check-answer";
import { theRest } from "@/lib/domain/answering/checklist";
import { parseMarks } from "@/lib/domain/marks/marks.schema";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { VERDICTS, VIEWS } from "@/lib/domain/setup/vocabulary";
import { deskOf } from "@/lib/records/answering";
import { NEXT_STEPS, type AnswerInput } from "@/lib/records/answers";

type Fields = Readonly<Record<string, string | readonly string[]>>;

/** Everything of the form that does not go by item or photo. */
const Rest = z.object({
  photoSetId: z.string().max(64),
  summary: z.string().max(2000),
  nextStep: z.enum(NEXT_STEPS),
  nextView: z.enum([...VIEWS, "any"]).default("any"),
  sideReason: z.string().max(500).default(""),
  wordsConfirmed: z.literal("yes").optional(),
  rest: z.literal("yes").optional(),
});

/** The answering form as the answer it means; fields go by `verdict.ITEM`, `cue.ITEM`, `words.ITEM`, `marks.PHOTO`. */
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
  const chosen = desk.set.rows.flatMap(({ item }): GivenVerdict[] => {
    const verdict = VERDICTS.find((each) => each === one(`verdict.${item.key}`));
    const cue = [one(`cue.${item.key}`), one(`words.${item.key}`)].map((each) => each.trim()).filter((each) => each !== "").join(" ");
    return verdict ? [{ itemKey: item.key, verdict, cue: verdict === "fix" && cue !== "" ? cue : null }] : [];
  });
  const covered = rest.data.rest === "yes" ? theRest(desk.set.rows, chosen.map((each) => each.itemKey)) : [];
  const verdicts = [...chosen, ...covered.map((itemKey): GivenVerdict => ({ itemKey, verdict: "in-place", cue: null }))];
  const marks: { photoId: string; marks: AnswerInput["marks"][number]["marks"] }[] = [];
  for (const { photoId } of desk.set.photos) {
    const json = one(`marks.${photoId}`);
    if (json === "") continue;
    const drawn = parseMarks(json);
    if (!drawn.ok) return drawn;
    if (drawn.value.length > 0) marks.push({ photoId, marks: drawn.value });
  }
  return ok({
    photoSetId, verdicts, summary, nextStep, nextView: nextView === "any" ? null : nextView, sideReason,
    wordsConfirmed: wordsConfirmed === "yes", marks,
  });
}
