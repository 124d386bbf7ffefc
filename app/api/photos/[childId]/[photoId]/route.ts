import { handler, json, problemResponse } from "@/lib/access/handler";
import { removePhoto } from "@/lib/records/photo-sets";

/** Takes one photo out of a set that is not sent yet. */
export const DELETE = handler("photo-set.send", async (granted, _request, params, now) => {
  const removed = await removePhoto(granted, params["photoId"] ?? "", now);
  return removed.ok ? json({ removed: true }) : problemResponse(removed.problem);
});
