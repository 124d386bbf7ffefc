"use server";

import { refresh } from "next/cache";
import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { answerTherapist } from "@/lib/records/back-questions";

const Words = z.strictObject({ photoSetId: z.string().max(64), backQuestionId: z.string().max(64), words: z.string().max(4000) });

export const answerTherapistAction = action("back-question.reply", Words, async (granted, { photoSetId, ...input }, now) => {
  const answered = await answerTherapist(granted, input, now);
  // The page is made anew around the form, so that what came first stands beside the words that were too late.
  if (!answered.ok && answered.problem.code.startsWith("back-question-")) refresh();
  return answered.ok ? ok({ goTo: `/family/asked/${granted.childId}/${encodeURIComponent(photoSetId)}` }) : answered;
});
