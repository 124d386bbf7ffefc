import { handler, json, problemResponse } from "@/lib/access/handler";
import { removePhoto } from "@/lib/records/taking-out";

/** Takes one photo out of a set that is not sent yet; again is no error. */
export const DELETE = handler("photo-set.send", async (granted, _request, params, now) => {
  const removed = await removePhoto(granted, params["photoId"] ?? "", now);
  return removed.ok ? json({ done: true }) : problemResponse(removed.problem);
});
