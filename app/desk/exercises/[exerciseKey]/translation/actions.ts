"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { grant } from "@/lib/access/grant";
import { ok } from "@/lib/domain/result";
import { LOCALES } from "@/lib/domain/words/reader";
import { saveTranslation } from "@/lib/records/translations";

const Translated = z.strictObject({
  exerciseKey: z.string().max(64), language: z.enum(LOCALES), about: z.string().max(200), source: z.string().max(400),
  words: z.string().max(2000).default(""), version: z.coerce.number().int().min(0),
});

export const saveTranslationAction = action("cues.write", Translated, async (granted, input, now) => {
  const saved = await saveTranslation(granted, await grant(granted.actor, "cues.read", null), input, now);
  return saved.ok ? ok({ goTo: `/desk/exercises/${encodeURIComponent(input.exerciseKey)}/translation?language=${input.language}` }) : saved;
});
