"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { confirmChild, settleMirror } from "@/lib/records/mirror";

const OnePhoto = z.strictObject({ photoSetId: z.string().max(64), photoId: z.string().max(64) });
const Settled = OnePhoto.extend({ was: z.enum(["mirrored", "true-as-it-came"]), reason: z.string().max(500) });

export const settleMirrorAction = action("mirror.settle", Settled, async (granted, { was, ...input }, now) => {
  const settled = await settleMirror(granted, { ...input, wasMirrored: was === "mirrored" }, now);
  return settled.ok ? ok({ goTo: `/desk/children/${granted.childId}/sets/${input.photoSetId}` }) : settled;
});

export const confirmChildAction = action("answer.write", OnePhoto, async (granted, input, now) => {
  const confirmed = await confirmChild(granted, input, now);
  return confirmed.ok ? ok({ goTo: `/desk/children/${granted.childId}/sets/${input.photoSetId}` }) : confirmed;
});
