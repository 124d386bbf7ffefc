"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { eraseFamily } from "@/lib/records/erasures";

export const eraseFamilyAction = action("family.erase", z.strictObject({ when: z.enum(["later", "now"]), typedName: z.string().max(80) }), async (granted, { when, typedName }, now) => {
  const erased = await eraseFamily(granted, { typedName, isNow: when === "now" }, now);
  return erased.ok ? ok({ goTo: when === "now" ? "/desk/families" : "/desk/erasures" }) : erased;
});
