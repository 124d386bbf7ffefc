"use server";

import { z } from "zod";
import { readAnswer } from "@/app/desk/children/[childId]/sets/[photoSetId]/answer-form";
import { action } from "@/lib/access/action";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { nextAfter } from "@/lib/domain/answering/queue-order";
import { ok } from "@/lib/domain/result";
import { VIEWS } from "@/lib/domain/setup/vocabulary";
import { askForNewPhoto, sendAnswer, voidPhotoSet } from "@/lib/records/answers";
import { queueOf } from "@/lib/records/queue";

const Fields = z.record(z.string().max(128), z.union([z.string().max(300_000), z.array(z.string()).max(10)]));

export const sendAnswerAction = action("answer.write", Fields, async (granted, fields, now) => {
  const read = await readAnswer(granted, fields, now);
  if (!read.ok) return read;
  const goTo = await nextOne(granted.actor, read.value.photoSetId, now);
  const sent = await sendAnswer(granted, read.value, now);
  return sent.ok ? ok({ goTo }) : sent;
});

/** The desk of the set that comes after this one in the queue, or the queue when no other waits. */
async function nextOne(actor: Actor, photoSetId: string, now: number): Promise<string> {
  const { rows } = await queueOf(await grant(actor, "queue.read", null), now);
  const next = nextAfter(rows, photoSetId);
  return next ? `/desk/children/${next.childId}/sets/${next.id}` : "/desk";
}

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
