"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { VIEWS } from "@/lib/domain/setup/vocabulary";
import { SYMPTOMS, SYMPTOM_KEYS } from "@/lib/domain/symptoms/symptoms";
import { markDone } from "@/lib/records/practice-days";
import { answerReadBack, READ_BACK_QUESTIONS } from "@/lib/records/read-backs";
import { sendPhotoSet, TAKEN_ANSWERS } from "@/lib/records/sending";
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

/** While sending: what was noticed stops the child at once, before the photos are finished. */
export const reportWhileSendingAction = action(
  "symptom.report",
  z.strictObject({ noticed: several, note, photoSetId: z.uuid() }),
  async (granted, input, now) => {
    const reported = await reportSymptoms(granted, input, now);
    return reported.ok ? ok({}) : reported;
  },
);

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

const fraction = z.number().min(0).max(1);
const tier = (name: "urgent" | "today") => z.strictObject({
  noticed: z.array(symptom.refine((key) => SYMPTOMS[key] === name)).max(SYMPTOM_KEYS.length),
  isNone: z.boolean(),
});
const Sent = z.strictObject({
  setId: z.uuid(),
  exerciseKey,
  setupId: z.string().max(64),
  photos: z.array(z.strictObject({
    photoId: z.string().max(64),
    view: z.enum(VIEWS),
    head: z.strictObject({ x: fraction, y: fraction }).nullable(),
    facing: z.enum(["front", "back", "unsure"]).nullable(),
  })).max(4),
  taken: z.enum(TAKEN_ANSWERS).nullable(),
  symptoms: z.strictObject({ urgent: tier("urgent"), today: tier("today") }),
  note,
});

export const sendAction = action("photo-set.send", z.strictObject({ set: z.string().max(20_000).transform(parsedJson).pipe(Sent) }), async (granted, input, now) => {
  const sent = await sendPhotoSet(granted, input.set, now);
  return sent.ok ? ok({}) : sent;
});

function parsedJson(text: string, context: z.RefinementCtx): unknown {
  try {
    return JSON.parse(text);
  } catch {
    context.addIssue({ code: "custom", message: "not JSON" });
    return z.NEVER;
  }
}
