import { isOurVersion, PIECE_LIMITS, resumable, UPLOAD_VERSION } from "@/app/api/clips/resumable";
import { handler, json, problemResponse } from "@/lib/access/handler";
import { refuse } from "@/lib/domain/result";
import { chunksOf, receive } from "@/lib/photos/receive";
import { addPiece, clipProgress } from "@/lib/records/clips";

/** How much of a clip is here: from there its phone goes on. */
export const HEAD = handler("photo-set.send", async (granted, _request, { uploadId = "" }, now) => {
  const progress = await clipProgress(granted, uploadId, now);
  return progress ? resumable(200, { "Upload-Offset": String(progress.offset), "Upload-Length": String(progress.length) }) : resumable(404);
});

/** One piece, raw bytes. The answer to the last one comes when the clip is opened and kept. */
export const PATCH = handler("photo-set.send", async (granted, request, { uploadId = "" }, now) => {
  if (!isOurVersion(request)) return resumable(412, { "Tus-Version": UPLOAD_VERSION });
  if (request.headers.get("content-type") !== "application/offset+octet-stream") return resumable(415);
  const from = Number(request.headers.get("upload-offset") ?? "x");
  if (!Number.isSafeInteger(from) || from < 0 || !request.body) return problemResponse(refuse("form-invalid").problem, 400);
  const known = await clipProgress(granted, uploadId, now);
  if (!known) return json({ error: "not-found" }, 404);
  if (known.offset !== from) return resumable(409, { "Upload-Offset": String(known.offset) });
  const length = Number(request.headers.get("content-length") ?? "x");
  const received = await receive(chunksOf(request.body), Number.isSafeInteger(length) ? { length } : {}, PIECE_LIMITS);
  // Too large, empty, or cut off on the way: nothing of it counts.
  if (!received.ok) return resumable(received.problem.code === "photo-too-large" ? 413 : 400);
  const added = await addPiece(granted, uploadId, from, received.value.bytes, now);
  if (!added.ok) return problemResponse(added.problem);
  return added.value === "moved" ? resumable(409) : resumable(204, { "Upload-Offset": String(added.value.offset) });
});
