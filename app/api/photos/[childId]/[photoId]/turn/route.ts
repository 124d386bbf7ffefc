import { z } from "zod";
import { handler, json, problemResponse } from "@/lib/access/handler";
import { refuse } from "@/lib/domain/result";
import { turnPrepared } from "@/lib/photos/intake";
import { replacePictures, unsentPicture } from "@/lib/records/photo-sets";

const Turn = z.enum(["1", "2", "3"]).transform((each) => Number(each) as 1 | 2 | 3); // one of the three just above

/** Turns an unsent photo by quarters, clockwise: `?quarters=1`. All sizes are made again. */
export const POST = handler("photo-set.send", async (granted, request, params, now) => {
  const quarters = Turn.safeParse(new URL(request.url).searchParams.get("quarters"));
  if (!quarters.success) return problemResponse(refuse("form-invalid").problem, 400);
  const photoId = params["photoId"] ?? "";
  const largest = await unsentPicture(granted, photoId);
  if (!largest) return problemResponse(refuse("set-finished").problem);
  const turned = await turnPrepared(largest, { quarterTurns: quarters.data, flopped: false });
  if (!turned.ok) return problemResponse(turned.problem);
  const replaced = await replacePictures(granted, photoId, turned.value, quarters.data, now);
  return replaced.ok ? json({ photo: { photoId, ...replaced.value } }) : problemResponse(replaced.problem);
});
