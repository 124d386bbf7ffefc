import { z } from "zod";
import { handler, json, problemResponse } from "@/lib/access/handler";
import { refuse } from "@/lib/domain/result";
import { VIEWS } from "@/lib/domain/setup/vocabulary";
import { instantTaken } from "@/lib/domain/time/taken";
import { takeIn } from "@/lib/photos/intake";
import { readOnPhone, withPhoneFacts } from "@/lib/photos/on-phone";
import { chunksOf, declaredIn } from "@/lib/photos/receive";
import { addPhoto, maySend } from "@/lib/records/photo-sets";

const Place = z.strictObject({
  set: z.uuid(),
  exercise: z.string().max(64),
  ordinal: z.enum(["1", "2", "3", "4"]).transform((each) => Number(each) as 1 | 2 | 3 | 4), // one of the four just above
  view: z.enum(VIEWS),
});

/** One photo, raw bytes. Consent and set-up are asked about before the first byte is read. */
export const POST = handler("photo-set.send", async (granted, request, _params, now) => {
  const place = Place.safeParse(Object.fromEntries(new URL(request.url).searchParams));
  const onPhone = readOnPhone(request.headers.get("x-photo-prepared"));
  if (!place.success || onPhone === undefined || granted.once === null) return problemResponse(refuse("form-invalid").problem, 400);
  const sending = await maySend(granted, place.data.exercise, now);
  if (!sending.ok) return problemResponse(sending.problem);
  if (!request.body) return problemResponse(refuse("photo-empty").problem);
  const prepared = await takeIn(chunksOf(request.body), declaredIn(request.headers));
  if (!prepared.ok) return problemResponse(prepared.problem);
  const { set, exercise, ordinal, view } = place.data;
  const photo = withPhoneFacts(prepared.value, onPhone);
  const takenAt = instantTaken(photo.takenAt, granted.actor.timeZone);
  const done = { originalBytes: onPhone?.originalBytes ?? null, isCovered: onPhone?.isCovered ?? false };
  const stored = await addPhoto(granted, { setId: set, exerciseKey: exercise, ordinal, view }, photo, takenAt, now, done);
  if (!stored.ok) return problemResponse(stored.problem);
  const { receivedBytes, sha256, ...said } = stored.value;
  return json({ photo: said, receivedBytes, sha256 }, 201);
});
