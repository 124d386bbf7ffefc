"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { PHASES } from "@/lib/domain/setup/vocabulary";
import { closePhase, openPhase } from "@/lib/records/setups";
import { setWritesWith } from "@/lib/records/writes-with";

const OnePhase = z.strictObject({ exerciseKey: z.string().max(64), phase: z.enum(PHASES) });

export const openPhaseAction = action("phase.open", OnePhase, async (granted, { exerciseKey, phase }, now) => {
  const opened = await openPhase(granted, exerciseKey, phase, now);
  return opened.ok ? ok({ goTo: `/desk/children/${granted.childId}` }) : opened;
});

export const closePhaseAction = action("phase.open", OnePhase, async (granted, { exerciseKey, phase }, now) => {
  const closed = await closePhase(granted, exerciseKey, phase, now);
  return closed.ok ? ok({ goTo: `/desk/children/${granted.childId}` }) : closed;
});

const hand = z.enum(["left", "right", "none"]).transform((said) => (said === "none" ? null : said));

export const writesWithAtDeskAction = action(
  "writes-with.set",
  z.strictObject({ hand, version: z.coerce.number().int() }),
  async (granted, input, now) => {
    const set = await setWritesWith(granted, input, now);
    return set.ok ? ok({ goTo: `/desk/children/${granted.childId}` }) : set;
  },
);
