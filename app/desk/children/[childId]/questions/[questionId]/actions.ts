"use server";

import { refresh } from "next/cache";
import { z } from "zod";
import { nextOne } from "@/app/desk/next-one";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { replyTo } from "@/lib/records/questions";

const Reply = z.strictObject({
  questionId: z.string().max(64),
  words: z.string().max(4000),
  sideReason: z.string().max(500).default(""),
  wordsConfirmed: z.literal("yes").optional(),
});

export const replyAction = action("question.reply", Reply, async (granted, { wordsConfirmed, ...input }, now) => {
  const goTo = await nextOne(granted.actor, input.questionId, now);
  const sent = await replyTo(granted, { ...input, wordsConfirmed: wordsConfirmed === "yes" }, now);
  // The page is made anew around the form, so that the colleague's reply stands beside the words that were too late.
  if (!sent.ok && sent.problem.code === "replied-already") refresh();
  return sent.ok ? ok({ goTo }) : sent;
});
