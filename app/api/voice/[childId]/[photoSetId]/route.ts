import { handler, json, problemResponse } from "@/lib/access/handler";
import { refuse } from "@/lib/domain/result";
import { chunksOf, type Declared } from "@/lib/photos/receive";
import { addVoiceNote, mayRecord, removeVoiceNote } from "@/lib/records/voice-notes";
import { takeInVoice } from "@/lib/voice/intake";

/** One spoken note, raw bytes. Whether there is a set to answer is asked before the first byte is read. */
export const POST = handler("answer.write", async (granted, request, { photoSetId = "" }, now) => {
  if (granted.once === null) return problemResponse(refuse("form-invalid").problem, 400);
  const open = await mayRecord(granted, photoSetId);
  if (!open.ok) return problemResponse(open.problem);
  if (!request.body) return problemResponse(refuse("voice-empty").problem);
  const prepared = await takeInVoice(chunksOf(request.body), declaredIn(request.headers));
  if (!prepared.ok) return problemResponse(prepared.problem);
  const added = await addVoiceNote(granted, photoSetId, prepared.value, now);
  if (!added.ok) return problemResponse(added.problem);
  const { receivedBytes, sha256 } = prepared.value;
  return json({ note: added.value, receivedBytes, sha256 }, 201);
});

/** Throws away this therapist's own note that was not sent. */
export const DELETE = handler("answer.write", async (granted, _request, { photoSetId = "" }, now) => {
  const removed = await removeVoiceNote(granted, photoSetId, now);
  return removed.ok ? json({ removed: true }) : problemResponse(removed.problem);
});

function declaredIn(headers: Headers): Declared {
  const length = Number(headers.get("x-voice-length") ?? headers.get("content-length"));
  const sha256 = headers.get("x-voice-sha256");
  return { ...(Number.isSafeInteger(length) && length > 0 ? { length } : {}), ...(sha256 ? { sha256 } : {}) };
}
