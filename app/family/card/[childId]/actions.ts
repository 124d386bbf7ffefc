"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { isStaff } from "@/lib/access/actor";
import { ok } from "@/lib/domain/result";
import { makeSideCard } from "@/lib/records/side-cards";

export const makeSideCardAction = action("side-card.print", z.strictObject({}), async (granted, _input, now) => {
  const made = await makeSideCard(granted, now);
  const { childId } = granted;
  return made.ok ? ok({ goTo: isStaff(granted.actor.role) ? `/desk/children/${childId}/card` : `/family/card/${childId}` }) : made;
});
