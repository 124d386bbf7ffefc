import { z } from "zod";
import { isOurVersion, resumable, saidOfUpload, UPLOAD_VERSION } from "@/app/api/clips/resumable";
import { handler, problemResponse } from "@/lib/access/handler";
import { refuse } from "@/lib/domain/result";
import { startClip } from "@/lib/records/clips";

/** Before 1990 no camera of this kind filmed; whether it lies in the future is asked where every file's time is. */
const Said = z.object({ photo: z.uuid(), length: z.coerce.number().int().min(0), takenAt: z.coerce.number().int().min(Date.UTC(1990, 0, 1)).max(Date.UTC(2200, 0, 1)).nullable(), turns: z.coerce.number().int().min(0).max(3) });

/**
 * Begins a clip that comes in pieces, after the tus protocol 1.0.0 with its "creation" extension. The Idempotency-Key that the
 * phone made is its address; consent and set-up are asked about before the first byte is read.
 */
export const POST = handler("photo-set.send", async (granted, request, _params, now) => {
  if (!isOurVersion(request)) return resumable(412, { "Tus-Version": UPLOAD_VERSION });
  const said = Said.safeParse({ photo: new URL(request.url).searchParams.get("photo"), length: request.headers.get("upload-length"), takenAt: saidOfUpload(request, "taken"), turns: saidOfUpload(request, "turns") ?? 0 });
  if (!said.success || granted.once === null) return problemResponse(refuse("form-invalid").problem, 400);
  const started = await startClip(granted, { uploadId: granted.once, photoId: said.data.photo, length: said.data.length, takenAt: said.data.takenAt, turns: said.data.turns }, now);
  if (!started.ok) return problemResponse(started.problem, started.problem.code === "clip-too-big" ? 413 : undefined);
  // Asked again, it says how much is here already.
  return resumable(201, { Location: `/api/clips/${granted.childId}/${granted.once}`, "Upload-Offset": String(started.value.offset) });
});
