"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { eraseNow, keepFamily, takeBackErasure } from "@/lib/records/erasures";
import { releasePhoto } from "@/lib/records/quarantines";
import { confirmRetention } from "@/lib/records/retention";

const HERE = { goTo: "/desk/erasures" };
const id = z.string().max(64);
const sure = z.literal("yes");

export const eraseOneAction = action(
  "erasure.settle",
  z.strictObject({ kind: z.enum(["photo", "voice-note"]), objectId: id, photoSetId: id.optional(), sure }),
  async (granted, { kind, objectId, photoSetId }, now) => {
    const erased = await eraseNow(granted, { kind, objectId }, now);
    return erased.ok ? ok(photoSetId === undefined ? HERE : { goTo: `/desk/children/${granted.childId}/sets/${photoSetId}/photos` }) : erased;
  },
);

export const keepAction = action("erasure.settle", z.strictObject({ requestId: id }), async (granted, { requestId }, now) => {
  const kept = await takeBackErasure(granted, requestId, now);
  return kept.ok ? ok(HERE) : kept;
});

export const keepFamilyAction = action("family.erase", z.strictObject({ requestId: id }), async (granted, { requestId }, now) => {
  const kept = await keepFamily(granted, requestId, now);
  return kept.ok ? ok(HERE) : kept;
});

export const releaseAction = action("erasure.settle", z.strictObject({ photoId: id, sure }), async (granted, { photoId }, now) => {
  const released = await releasePhoto(granted, photoId, now);
  return released.ok ? ok(HERE) : released;
});

export const confirmRetentionAction = action("retention.confirm", z.strictObject({ runId: id, photos: z.coerce.number().int().min(1) }), async (granted, input, now) => {
  const confirmed = await confirmRetention(granted, input, now);
  return confirmed.ok ? ok(HERE) : confirmed;
});
