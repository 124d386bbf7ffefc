"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { liftStop, placeStop } from "@/lib/records/stops";

const Stop = z.strictObject({
  exerciseKey: z.string().max(64),
  reason: z.string().max(500),
  sideReason: z.string().max(500).default(""),
  wordsConfirmed: z.literal("yes").optional(),
});

export const placeStopAction = action("stop.place", Stop, async (granted, { exerciseKey, wordsConfirmed, ...input }, now) => {
  const placed = await placeStop(granted, { ...input, exerciseKey: exerciseKey === "all" ? null : exerciseKey, wordsConfirmed: wordsConfirmed === "yes" }, now);
  return placed.ok ? ok({ goTo: `/desk/children/${granted.childId}` }) : placed;
});

const Lift = z.strictObject({ stopId: z.string().max(64), reason: z.string().max(500) });

export const liftStopAction = action("stop.place", Lift, async (granted, input, now) => {
  const lifted = await liftStop(granted, input, now);
  return lifted.ok ? ok({ goTo: `/desk/children/${granted.childId}` }) : lifted;
});
