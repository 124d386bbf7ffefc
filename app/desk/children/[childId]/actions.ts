"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { PHASES } from "@/lib/domain/setup/vocabulary";
import { isExerciseKey } from "@/lib/records/exercises";
import { closePhase, openPhase } from "@/lib/records/setups";

const OnePhase = z.strictObject({ exerciseKey: z.string().refine(isExerciseKey), phase: z.enum(PHASES) });

export const openPhaseAction = action("phase.open", OnePhase, async (granted, { exerciseKey, phase }, now) => {
  const opened = await openPhase(granted, exerciseKey, phase, now);
  return opened.ok ? ok({ goTo: `/desk/children/${granted.childId}` }) : opened;
});

export const closePhaseAction = action("phase.open", OnePhase, async (granted, { exerciseKey, phase }, now) => {
  const closed = await closePhase(granted, exerciseKey, phase, now);
  return closed.ok ? ok({ goTo: `/desk/children/${granted.childId}` }) : closed;
});
