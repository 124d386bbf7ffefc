import { sendBytes, sha256 } from "@/app/ui/send-bytes";

export type UpNote = { readonly voiceNoteId: string; readonly durationMs: number };
/** A refusal's code, or `line` (lost or not there) or `signed-out`: with these two it is tried again later. */
export type Refusal = { readonly code: string; readonly values?: Readonly<Record<string, string | number>> };
export type Upped = { readonly note: UpNote } | { readonly refusal: Refusal };

const address = (childId: string, photoSetId: string): string => `/api/voice/${childId}/${photoSetId}`;

/** Sends one note up under its key: the same key gives the same note, however often it is tried. */
export async function sendNote(childId: string, photoSetId: string, sound: Blob, key: string, progress: (share: number) => void): Promise<Upped> {
  const bytes = await sound.arrayBuffer();
  const headers = { "Idempotency-Key": key, "X-Voice-Length": String(bytes.byteLength), "X-Voice-Sha256": await sha256(bytes) };
  const told = await sendBytes(address(childId, photoSetId), bytes, headers, progress);
  if (!told) return { refusal: { code: "line" } };
  if (told.status === 401) return { refusal: { code: "signed-out" } };
  try {
    // Our own route's answer; a body that is not its JSON is a refusal below.
    const body = JSON.parse(told.text) as { readonly note?: UpNote; readonly problem?: Refusal };
    return told.status < 300 && body.note ? { note: body.note } : { refusal: body.problem ?? { code: "other" } };
  } catch {
    return { refusal: { code: "other" } };
  }
}

/** Throws the note away on the server; false when it could not be asked. */
export async function removeNote(childId: string, photoSetId: string): Promise<boolean> {
  const answer = await fetch(address(childId, photoSetId), { method: "DELETE", headers: { "Idempotency-Key": crypto.randomUUID() } }).catch(() => null);
  return answer?.ok ?? false;
}
