"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { askErasure, eraseNow } from "@/lib/records/erasures";

export const eraseChildAction = action("erasure.settle", z.strictObject({ when: z.enum(["later", "now"]), typedName: z.string().max(80) }), async (granted, { when, typedName }, now) => {
  const what = { kind: "child" as const, typedName };
  if (when === "now") {
    const erased = await eraseNow(granted, what, now);
    return erased.ok ? ok({ goTo: "/desk/families" }) : erased;
  }
  const asked = await askErasure(granted, what, now);
  return asked.ok ? ok({ goTo: "/desk/erasures" }) : asked;
});
