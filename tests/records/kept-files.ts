import { randomBytes } from "node:crypto";
import { database } from "@/db/client";
import { mediaFiles } from "@/db/schema/photos";
import { voiceNotes } from "@/db/schema/voice";
import { appendAudit } from "@/lib/audit/append";
import { openPracticeStore } from "@/lib/media/practice-store";

/** Spoken notes of one child with their rows and an audit entry each, as an act leaves them; their bytes are noise, two frames long. */
export async function keepFiles(dir: string, familyId: string, childId: string, count: number): Promise<readonly string[]> {
  const store = openPracticeStore(dir);
  const kept: string[] = [];
  for (let n = 0; n < count; n += 1) {
    const { fileId, byteLength, sha256, keyId } = await store.put(randomBytes(100_000 + n));
    database().transaction((tx) => {
      tx.insert(voiceNotes).values({ id: `note-${fileId}`, familyId, childId, photoSetId: "set", container: "webm", durationMs: 1, recordedBy: "lead", recordedAt: n }).run();
      tx.insert(mediaFiles).values({ fileId, familyId, childId, voiceNoteId: `note-${fileId}`, kind: "voice", byteLength, sha256, keyId, storedAt: n }).run();
      appendAudit(tx, { at: n, actorId: "lead", role: "lead", act: "voice.kept", objectId: fileId, familyId, outcome: "done", requestId: null, sessionHash: null });
    }, { behavior: "immediate" });
    kept.push(fileId);
  }
  await Promise.resolve();
  return kept;
}
