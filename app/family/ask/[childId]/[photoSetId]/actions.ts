"use server";

import { refresh } from "next/cache";
import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { askQuestion } from "@/lib/records/questions";

const Asked = z.strictObject({ answerId: z.string().max(64), words: z.string().max(4000) });

export const askAction = action("question.ask", Asked, async (granted, input, now) => {
  const asked = await askQuestion(granted, input, now);
  if (!asked.ok) return asked;
  // Led to its own address, the page would be made anew: what was sent is not said aloud then, and the focus falls out of the form.
  refresh();
  return ok({});
});
