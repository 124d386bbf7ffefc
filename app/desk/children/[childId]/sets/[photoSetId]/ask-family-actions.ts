"use server";

import { z } from "zod";
import { nextOne } from "@/app/desk/next-one";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { askFamily, withdrawFromFamily } from "@/lib/records/back-questions";

const Asked = z.strictObject({
  photoSetId: z.string().max(64),
  words: z.string().max(4000),
  sideReason: z.string().max(500).default(""),
  wordsConfirmed: z.literal("yes").optional(),
});

export const askFamilyAction = action("back-question.ask", Asked, async (granted, { wordsConfirmed, ...input }, now) => {
  const goTo = await nextOne(granted.actor, input.photoSetId, now);
  const asked = await askFamily(granted, { ...input, wordsConfirmed: wordsConfirmed === "yes" }, now);
  return asked.ok ? ok({ goTo }) : asked;
});

const Withdrawn = z.strictObject({ photoSetId: z.string().max(64), backQuestionId: z.string().max(64) });

export const withdrawFromFamilyAction = action("back-question.ask", Withdrawn, async (granted, { photoSetId, backQuestionId }, now) => {
  const withdrawn = await withdrawFromFamily(granted, backQuestionId, now);
  return withdrawn.ok ? ok({ goTo: `/desk/children/${granted.childId}/sets/${photoSetId}` }) : withdrawn;
});
