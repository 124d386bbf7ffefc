import { handler, json } from "@/lib/access/handler";
import { answerOf, streamOf } from "@/lib/media/byte-range";
import { privateMedia } from "@/lib/media/private-headers";
import { takeExport } from "@/lib/records/exports";

/** The archive for who asked for it, piece by piece, also from the middle when a line broke. After its day it is gone. */
export const GET = handler("export.take", async (granted, request, params, now) => {
  const taken = await takeExport(granted, params["exportId"] ?? "", now);
  if (taken === null) return json({ error: "not-found" }, 404);
  if (taken === "gone") return json({ error: "gone" }, 410);
  const { tag, headers: fixed } = privateMedia(request, taken.sha256);
  const { status, range, headers } = answerOf(request.headers, taken.byteLength, tag);
  return new Response(status === 416 ? null : await streamOf(range, taken.read), {
    status,
    headers: { ...fixed, ...headers, "Cache-Control": "private, no-store", "Content-Type": "application/zip", "Content-Disposition": 'attachment; filename="trueside-record.zip"' },
  });
});
