"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { READ_BACK_QUESTIONS } from "@/lib/domain/answering/read-back";
import { ok } from "@/lib/domain/result";
import { SYMPTOM_KEYS } from "@/lib/domain/symptoms/symptoms";
import { markDone, unmarkDone } from "@/lib/records/practice-days";
import { answerReadBack } from "@/lib/records/read-backs";
import { reportSymptoms } from "@/lib/records/symptoms";

const exerciseKey = z.string().max(64);
const note = z.string().max(2000);
const symptom = z.enum(SYMPTOM_KEYS);
const several = z.union([symptom.transform((one) => [one]), z.array(symptom)]).default([]);

export const reportAction = action("symptom.report", z.strictObject({ noticed: several, note }), async (granted, input, now) => {
  const reported = await reportSymptoms(granted, { ...input, photoSetId: null }, now);
  // The first screen shows the stop before anything else.
  return reported.ok ? ok({ goTo: "/family" }) : reported;
});

export const readBackAction = action(
  "read-back.answer",
  z.strictObject({ stopId: z.string().max(64), exerciseKey, question: z.enum(READ_BACK_QUESTIONS), choice: z.string().max(20) }),
  async (granted, input, now) => {
    const answered = await answerReadBack(granted, input, now);
    return answered.ok ? ok({ goTo: "/family" }) : answered;
  },
);

export const doneAction = action("practice-day.mark", z.strictObject({ exerciseKey }), async (granted, input, now) => {
  const marked = await markDone(granted, input.exerciseKey, now);
  return marked.ok ? ok({ goTo: "/family" }) : marked;
});

export const notDoneAction = action("practice-day.mark", z.strictObject({ exerciseKey }), async (granted, input, now) => {
  const unmarked = await unmarkDone(granted, input.exerciseKey, now);
  return unmarked.ok ? ok({ goTo: "/family" }) : unmarked;
});
