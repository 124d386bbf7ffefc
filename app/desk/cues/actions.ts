"use server";

import { z } from "zod";
import { cuesAddress } from "@/app/desk/cues/words";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { retireCue, returnCue, saveCue } from "@/lib/records/cues";

const key = z.string().max(80);
const Ref = z.strictObject({ exerciseKey: key, itemKey: key, id: key.default(""), version: z.coerce.number().int() });

export const saveCueAction = action("cues.write", Ref.extend({ words: z.string().max(2000).default("") }), async (granted, input, now) => {
  const saved = await saveCue(granted, { ...input, id: input.id === "" ? null : input.id }, now);
  return saved.ok ? ok({ goTo: cuesAddress(input.exerciseKey, input.itemKey) }) : saved;
});

export const retireCueAction = action("cues.write", Ref, async (granted, ref, now) => {
  const retired = await retireCue(granted, ref, now);
  return retired.ok ? ok({ goTo: cuesAddress(ref.exerciseKey, ref.itemKey) }) : retired;
});

export const returnCueAction = action("cues.write", Ref, async (granted, ref, now) => {
  const returned = await returnCue(granted, ref, now);
  return returned.ok ? ok({ goTo: cuesAddress(ref.exerciseKey, ref.itemKey) }) : returned;
});
