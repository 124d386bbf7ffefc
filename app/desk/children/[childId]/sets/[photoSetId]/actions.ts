"use server";

import { z } from "zod";
import { readAnswer } from "@/app/desk/children/[childId]/sets/[photoSetId]/answer-form";
import { nextOne } from "@/app/desk/next-one";
import { action } from "@/lib/access/action";
import { written } from "@/lib/domain/answering/draft-fields";
import type { ProblemCode } from "@/lib/domain/problem";
import { ok } from "@/lib/domain/result";
import { VIEWS } from "@/lib/domain/setup/vocabulary";
import { amendAnswer } from "@/lib/records/amendments";
import { askForNewPhoto, sendAnswer } from "@/lib/records/answers";
import { keepRefused } from "@/lib/records/drafts";
import { takeBackAnswer } from "@/lib/records/take-back";
import { voidPhotoSet } from "@/lib/records/voiding";

const Fields = z.record(z.string().max(128), z.union([z.string().max(300_000), z.array(z.string()).max(10)]));

export const sendAnswerAction = action("answer.write", Fields, async (granted, fields, now) => {
  const read = await readAnswer(granted, fields, now);
  if (!read.ok) return read;
  const { photoSetId } = read.value;
  const goTo = await nextOne(granted.actor, photoSetId, now);
  const typed = written(Object.entries(fields));
  const amendment = { basedOn: String(fields["amends"]), reason: String(fields["amendReason"] ?? "") };
  const sent = fields["amends"] === undefined ? await sendAnswer(granted, read.value, now, typed) : await amendAnswer(granted, read.value, amendment, now, typed);
  if (sent.ok) return ok({ goTo });
  // Somebody was quicker: what was typed is kept as the draft, and both are shown beside each other.
  if (!QUICKER.includes(sent.problem.code) || !(await keepRefused(granted, photoSetId, typed, now))) return sent;
  return ok({ goTo: `/desk/children/${granted.childId}/sets/${photoSetId}?late=${fields["amends"] === undefined ? "answer" : "amend"}` });
});

const QUICKER: readonly ProblemCode[] = ["answered-already", "amended-already", "amend-too-soon"];

export const takeBackAction = action("answer.write", z.strictObject({ answerId: z.string().max(64) }), async (granted, { answerId }, now) => {
  const back = await takeBackAnswer(granted, answerId, now);
  return back.ok ? ok({ goTo: `/desk/children/${granted.childId}/sets/${back.value.photoSetId}` }) : back;
});

const Again = z.strictObject({
  photoSetId: z.string().max(64),
  reason: z.string().max(500),
  nextView: z.enum([...VIEWS, "any"]),
  sideReason: z.string().max(500).default(""),
  wordsConfirmed: z.literal("yes").optional(),
});

export const takeAgainAction = action("answer.write", Again, async (granted, { nextView, wordsConfirmed, ...input }, now) => {
  const goTo = await nextOne(granted.actor, input.photoSetId, now);
  const asked = await askForNewPhoto(granted, { ...input, nextView: nextView === "any" ? null : nextView, wordsConfirmed: wordsConfirmed === "yes" }, now);
  return asked.ok ? ok({ goTo }) : asked;
});

const Wrong = z.strictObject({ photoSetId: z.string().max(64), sure: z.literal("yes") });

export const wrongChildAction = action("answer.write", Wrong, async (granted, { photoSetId }, now) => {
  const voided = await voidPhotoSet(granted, photoSetId, now);
  return voided.ok ? ok({ goTo: "/desk" }) : voided;
});
