import { z } from "zod";
import { handler, json, problemResponse } from "@/lib/access/handler";
import { refuse } from "@/lib/domain/result";
import { takeIn } from "@/lib/photos/intake";
import { chunksOf, declaredIn } from "@/lib/photos/receive";
import { mayTakeMoment, removeMoment, takeMoment } from "@/lib/records/moments";

/** The time in the clip, and whether it was shown turned back. */
const At = z.strictObject({ ms: z.coerce.number().int().min(0).max(3_600_000), turned: z.enum(["0", "1"]) });

/** One picture taken from the clip of this photo, raw bytes. Whether there is such a clip is asked before the first byte is read. */
export const POST = handler("answer.write", async (granted, request, { photoId = "" }, now) => {
  const said = At.safeParse(Object.fromEntries(new URL(request.url).searchParams));
  if (!said.success || granted.once === null) return problemResponse(refuse("form-invalid").problem, 400);
  const at = { photoId, clipMs: said.data.ms, isTurnedBack: said.data.turned === "1" };
  const open = await mayTakeMoment(granted, at, now);
  if (!open.ok) return problemResponse(open.problem);
  if (!request.body) return problemResponse(refuse("photo-empty").problem);
  const prepared = await takeIn(chunksOf(request.body), declaredIn(request.headers));
  if (!prepared.ok) return problemResponse(prepared.problem);
  const taken = await takeMoment(granted, at, prepared.value, now);
  return taken.ok ? json(taken.value, 201) : problemResponse(taken.problem);
});

/** Takes this moment away again, while no answer holds it. */
export const DELETE = handler("answer.write", async (granted, _request, { photoId = "" }, now) => {
  const removed = await removeMoment(granted, photoId, now);
  return removed.ok ? json({ removed: true }) : problemResponse(removed.problem);
});
