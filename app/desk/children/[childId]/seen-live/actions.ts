"use server";

import { z } from "zod";
import { givenVerdicts } from "@/app/desk/children/[childId]/sets/[photoSetId]/given-verdicts";
import { action } from "@/lib/access/action";
import { ok, refuse } from "@/lib/domain/result";
import { PHASES } from "@/lib/domain/setup/vocabulary";
import { liveChecklist, recordSeenLive } from "@/lib/records/seen-live";

const Fields = z.record(z.string().max(128), z.string().max(1000));
const Own = z.object({
  exerciseKey: z.string().max(64),
  phase: z.enum(PHASES),
  how: z.enum(["visit", "call"]),
  day: z.string().max(10),
  time: z.string().max(5).default(""),
  note: z.string().max(1000).default(""),
  sideReason: z.string().max(500).default(""),
  wordsConfirmed: z.literal("yes").optional(),
});

export const seenLiveAction = action("seen-live.record", Fields, async (granted, fields, now) => {
  const own = Own.safeParse(fields);
  if (!own.success) return refuse("form-invalid", { field: String(own.error.issues[0]?.path[0] ?? "") });
  const { time, wordsConfirmed, ...input } = own.data;
  const current = liveChecklist(granted, input.exerciseKey, input.phase);
  if (!current.ok) return current;
  const { setup, rows } = current.value;
  const verdicts = await givenVerdicts(granted.actor, { exerciseKey: input.exerciseKey, setup: setup.resolution.setup, rows }, (name) => fields[name] ?? "", now);
  if (!verdicts.ok) return verdicts;
  const recorded = await recordSeenLive(granted, { ...input, time: time === "" ? null : time, verdicts: verdicts.value, wordsConfirmed: wordsConfirmed === "yes" }, now);
  return recorded.ok ? ok({ goTo: `/desk/children/${granted.childId}` }) : recorded;
});
