"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { remindOfQuestion } from "@/lib/records/back-questions";
import { remindOfStops } from "@/lib/records/unread-stops";

/** Back to where it was pressed. */
const Remind = z.strictObject({ from: z.enum(["queue", "child"]) });

export const remindAction = action("stop.remind", Remind, async (granted, { from }, now) => {
  const reminded = await remindOfStops(granted, now);
  return reminded.ok ? ok({ goTo: from === "queue" ? "/desk" : `/desk/children/${granted.childId}` }) : reminded;
});

export const remindOfQuestionAction = action("back-question.ask", z.strictObject({ backQuestionId: z.string().max(64) }), async (granted, { backQuestionId }, now) => {
  const reminded = await remindOfQuestion(granted, backQuestionId, now);
  return reminded.ok ? ok({ goTo: "/desk" }) : reminded;
});
