"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { decideAgreement } from "@/lib/records/care-agreements";

export const agreeAction = action(
  "care.agree",
  z.strictObject({ guardianId: z.string().max(60), decision: z.enum(["agreed", "ended"]) }),
  async (granted, input, now) => {
    const decided = await decideAgreement(granted, input, now);
    return decided.ok ? ok({ goTo: "/family/account" }) : decided;
  },
);
