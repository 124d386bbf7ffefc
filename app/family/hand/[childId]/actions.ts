"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { setWritesWith } from "@/lib/records/writes-with";

const hand = z.enum(["left", "right", "none"]).transform((said) => (said === "none" ? null : said));

export const writesWithAction = action(
  "writes-with.set",
  // Asked on the way to a photo, it leads back there.
  z.strictObject({ hand, version: z.coerce.number().int(), exerciseKey: z.string().max(64).optional() }),
  async (granted, { exerciseKey, ...input }, now) => {
    const set = await setWritesWith(granted, input, now);
    if (!set.ok) return set;
    return ok({ goTo: exerciseKey === undefined ? "/family/account" : `/family/send?${new URLSearchParams({ child: granted.childId, exercise: exerciseKey }).toString()}` });
  },
);
