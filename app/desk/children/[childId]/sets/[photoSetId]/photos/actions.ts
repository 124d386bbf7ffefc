"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { setPhotoAside } from "@/lib/records/quarantines";

export const setAsideAction = action(
  "photo.set-aside",
  z.strictObject({ photoSetId: z.string().max(64), photoId: z.string().max(64), sure: z.literal("yes") }),
  async (granted, { photoSetId, photoId }, now) => {
    const aside = await setPhotoAside(granted, photoId, now);
    return aside.ok ? ok({ goTo: `/desk/children/${granted.childId}/sets/${photoSetId}/photos` }) : aside;
  },
);
