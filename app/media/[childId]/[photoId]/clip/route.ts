import { handler, json } from "@/lib/access/handler";
import { answerOf, streamOf } from "@/lib/media/byte-range";
import { privateMedia } from "@/lib/media/private-headers";
import { clipOf } from "@/lib/records/clips";

/** The one door for clips, whole or by one range. Every request is authorised before it is answered in any way. */
export const GET = handler("photo.view", async (granted, request, params, now) => {
  const clip = await clipOf(granted, params["photoId"] ?? "", now);
  if (!clip) return json({ error: "not-found" }, 404);
  const { tag, headers: fixed, isKnown } = privateMedia(request, clip.sha256);
  if (isKnown) return new Response(null, { status: 304, headers: fixed });
  const { status, range, headers } = answerOf(request.headers, clip.byteLength, tag);
  return new Response(status === 416 ? null : await streamOf(range, clip.read), {
    status,
    headers: { ...fixed, ...headers, "Content-Type": `video/${clip.container}`, "Content-Disposition": `inline; filename="clip.${clip.container}"` },
  });
});
