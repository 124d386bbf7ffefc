"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { renewSideCard } from "@/lib/records/side-cards";

export const renewSideCardAction = action("side-card.renew", z.strictObject({}), async (granted, _input, now) => {
  const renewed = await renewSideCard(granted, now);
  return renewed.ok ? ok({ goTo: `/desk/children/${granted.childId}/card` }) : renewed;
});
