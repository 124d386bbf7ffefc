import { z } from "zod";
import { handler, json, problemResponse } from "@/lib/access/handler";
import { refuse } from "@/lib/domain/result";
import { MOST_WAITED_MS } from "@/lib/domain/sending/waited";
import { VIEWS } from "@/lib/domain/setup/vocabulary";
import { SYMPTOM_KEYS, SYMPTOMS } from "@/lib/domain/symptoms/symptoms";
import { sendPhotoSet, TAKEN_ANSWERS } from "@/lib/records/sending";
import { removeUnsentSet } from "@/lib/records/taking-out";

const BYTES = 20_000;
const fraction = z.number().min(0).max(1);
const tier = (name: "urgent" | "today") => z.strictObject({
  noticed: z.array(z.enum(SYMPTOM_KEYS).refine((key) => SYMPTOMS[key] === name)).max(SYMPTOM_KEYS.length),
  isNone: z.boolean(),
});
const Body = z.strictObject({
  setId: z.uuid(),
  exerciseKey: z.string().max(64),
  setupId: z.string().max(64),
  photos: z.array(z.strictObject({
    photoId: z.string().max(64),
    view: z.enum(VIEWS),
    head: z.strictObject({ x: fraction, y: fraction }).nullable(),
    facing: z.enum(["front", "back", "unsure"]).nullable(),
    isSeenTurnedBack: z.boolean().nullable(),
  })).max(4),
  taken: z.enum(TAKEN_ANSWERS).nullable(),
  waitedMs: z.int().min(0).max(MOST_WAITED_MS),
  symptoms: z.strictObject({ urgent: tier("urgent"), today: tier("today") }),
  note: z.string().max(2000),
});

/** Finishes a photo set: only now it exists for the practice. A route and no action, so that a phone can come back to it after an update. */
export const POST = handler("photo-set.send", async (granted, request, _params, now) => {
  if (Number(request.headers.get("content-length") ?? BYTES + 1) > BYTES) return problemResponse(refuse("form-invalid").problem, 413);
  const body = Body.safeParse(await request.json().catch(() => null));
  if (!body.success || granted.once === null) return problemResponse(refuse("form-invalid").problem, 400);
  const sent = await sendPhotoSet(granted, body.data, now);
  return sent.ok ? json({ done: true }) : problemResponse(sent.problem);
});

/** Takes out what has arrived of a set that its sender will not finish; again is no error. */
export const DELETE = handler("photo-set.send", async (granted, request, _params, now) => {
  const setId = z.uuid().safeParse(new URL(request.url).searchParams.get("set"));
  if (!setId.success) return problemResponse(refuse("form-invalid").problem, 400);
  const removed = await removeUnsentSet(granted, setId.data, now);
  return removed.ok ? json({ done: true }) : problemResponse(removed.problem);
});
