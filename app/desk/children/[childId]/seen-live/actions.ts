"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import type { GivenVerdict } from "@/lib/domain/answering/check-answer";
import { theRest } from "@/lib/domain/answering/checklist";
import { ok, refuse } from "@/lib/domain/result";
import { PHASES, VERDICTS } from "@/lib/domain/setup/vocabulary";
import { liveChecklist, recordSeenLive } from "@/lib/records/seen-live";

const Fields = z.record(z.string().max(128), z.string().max(1000));
const Own = z.object({
  exerciseKey: z.string().max(64),
  phase: z.enum(PHASES),
  how: z.enum(["visit", "call"]),
  day: z.string().max(10),
  time: z.string().max(5).default(""),
  note: z.string().max(1000).default(""),
  rest: z.literal("yes").optional(),
  sideReason: z.string().max(500).default(""),
  wordsConfirmed: z.literal("yes").optional(),
});

export const seenLiveAction = action("seen-live.record", Fields, async (granted, fields, now) => {
  const own = Own.safeParse(fields);
  if (!own.success) return refuse("form-invalid", { field: String(own.error.issues[0]?.path[0] ?? "") });
  const { time, rest, wordsConfirmed, ...input } = own.data;
  const current = liveChecklist(granted, input.exerciseKey, input.phase);
  if (!current.ok) return current;
  const { rows } = current.value;
  const chosen = rows.flatMap(({ item }): GivenVerdict[] => {
    const verdict = VERDICTS.find((each) => each === fields[`verdict.${item.key}`]);
    const cue = [fields[`cue.${item.key}`], fields[`words.${item.key}`]].filter((each) => each !== undefined && each.trim() !== "").join(" ");
    return verdict ? [{ itemKey: item.key, verdict, cue: verdict === "fix" && cue !== "" ? cue : null }] : [];
  });
  const covered = rest === "yes" ? theRest(rows, chosen.map((each) => each.itemKey)) : [];
  const verdicts = [...chosen, ...covered.map((itemKey): GivenVerdict => ({ itemKey, verdict: "in-place", cue: null }))];
  const recorded = await recordSeenLive(granted, { ...input, time: time === "" ? null : time, verdicts, wordsConfirmed: wordsConfirmed === "yes" }, now);
  return recorded.ok ? ok({ goTo: `/desk/children/${granted.childId}` }) : recorded;
});
