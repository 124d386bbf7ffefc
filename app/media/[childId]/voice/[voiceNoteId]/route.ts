import { handler, json } from "@/lib/access/handler";
import { answerOf, streamOf } from "@/lib/media/byte-range";
import { privateMedia } from "@/lib/media/private-headers";
import { heardNote } from "@/lib/records/voice-notes";

/** The one door for spoken notes, whole or by one range. Every request is authorised before it is answered in any way. */
export const GET = handler("child.read", async (granted, request, params, now) => {
  const note = await heardNote(granted, params["voiceNoteId"] ?? "", now);
  if (!note) return json({ error: "not-found" }, 404);
  const { tag, headers: fixed, isKnown } = privateMedia(request, note.sha256);
  if (isKnown) return new Response(null, { status: 304, headers: fixed });
  const { status, range, headers } = answerOf(request.headers, note.byteLength, tag);
  return new Response(status === 416 ? null : await streamOf(range, note.read), {
    status,
    headers: {
      ...fixed,
      ...headers,
      "Content-Type": `audio/${note.container}`,
      "Content-Disposition": `inline; filename="spoken-note.${note.container === "webm" ? "webm" : "m4a"}"`,
    },
  });
});
