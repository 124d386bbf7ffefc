"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { askErasure, takeBackErasure } from "@/lib/records/erasures";

export const askEraseChildAction = action("erasure.ask", z.strictObject({ typedName: z.string().max(80) }), async (granted, { typedName }, now) => {
  const asked = await askErasure(granted, { kind: "child", typedName }, now);
  return asked.ok ? ok({ goTo: `/family/erase/${granted.childId}` }) : asked;
});

export const askErasePhotoAction = action("erasure.ask", z.strictObject({ photoId: z.string().max(64), sure: z.literal("yes") }), async (granted, { photoId }, now) => {
  const asked = await askErasure(granted, { kind: "photo", objectId: photoId }, now);
  return asked.ok ? ok({ goTo: `/family/erase/${granted.childId}` }) : asked;
});

export const doNotEraseAction = action("erasure.take-back", z.strictObject({ requestId: z.string().max(64) }), async (granted, { requestId }, now) => {
  const kept = await takeBackErasure(granted, requestId, now);
  return kept.ok ? ok({ goTo: `/family/erase/${granted.childId}` }) : kept;
});
