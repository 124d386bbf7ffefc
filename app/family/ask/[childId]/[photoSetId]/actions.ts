"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { askQuestion } from "@/lib/records/questions";

const Asked = z.strictObject({ photoSetId: z.string().max(64), answerId: z.string().max(64), words: z.string().max(4000) });

export const askAction = action("question.ask", Asked, async (granted, { photoSetId, ...input }, now) => {
  const asked = await askQuestion(granted, input, now);
  return asked.ok ? ok({ goTo: `/family/ask/${granted.childId}/${encodeURIComponent(photoSetId)}` }) : asked;
});
