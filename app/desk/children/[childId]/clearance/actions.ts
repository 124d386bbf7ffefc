"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { clearSymptom } from "@/lib/records/clearances";

const Clearance = z.strictObject({ reportId: z.string().max(64), spokeTo: z.string().max(200), outcome: z.string().max(1000) });

export const clearSymptomAction = action("symptom.clear", Clearance, async (granted, input, now) => {
  const cleared = await clearSymptom(granted, input, now);
  return cleared.ok ? ok({ goTo: `/desk/children/${granted.childId}` }) : cleared;
});
