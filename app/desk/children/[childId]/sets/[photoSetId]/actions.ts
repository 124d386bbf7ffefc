"use server";

import { z } from "zod";
import { readAnswer } from "@/app/desk/children/[childId]/sets/[photoSetId]/answer-form";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { VIEWS } from "@/lib/domain/setup/vocabulary";
import { askForNewPhoto, sendAnswer, voidPhotoSet } from "@/lib/records/answers";

const Fields = z.record(z.string().max(128), z.union([z.string().max(300_000), z.array(z.string()).max(10)]));

export const sendAnswerAction = action("answer.write", Fields, async (granted, fields, now) => {
  const read = await readAnswer(granted, fields, now);
  if (!read.ok) return read;
  const sent = await sendAnswer(granted, read.value, now);
  return sent.ok ? ok({ goTo: "/desk" }) : sent;
});

const Again = z.strictObject({
  photoSetId: z.string().max(64),
  reason: z.string().max(500),
  nextView: z.enum([...VIEWS, "any"]),
  sideReason: z.string().max(500).default(""),
  wordsConfirmed: z.literal("yes").optional(),
});

export const takeAgainAction = action("answer.write", Again, async (granted, { nextView, wordsConfirmed, ...input }, now) => {
  const asked = await askForNewPhoto(granted, { ...input, nextView: nextView === "any" ? null : nextView, wordsConfirmed: wordsConfirmed === "yes" }, now);
  return asked.ok ? ok({ goTo: "/desk" }) : asked;
});

const Wrong = z.strictObject({ photoSetId: z.string().max(64), sure: z.literal("yes") });

export const wrongChildAction = action("answer.write", Wrong, async (granted, { photoSetId }, now) => {
  const voided = await voidPhotoSet(granted, photoSetId, now);
  return voided.ok ? ok({ goTo: "/desk" }) : voided;
});
