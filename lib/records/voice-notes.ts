import "server-only";
import { and, desc, eq, exists, inArray, isNotNull, isNull, lte, notExists, or, sql, type SQL } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { among, OF_CHILD, prepared } from "@/db/prepared";
import { answers } from "@/db/schema/answers";
import { mediaFiles, photoSets } from "@/db/schema/photos";
import { voiceNotes } from "@/db/schema/voice";
import { isStaff } from "@/lib/access/actor";
import type { ChildGrant } from "@/lib/access/grant";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { isDiskLow } from "@/lib/media/space";
import { MediaError, type ByteRange, type StoredMedia } from "@/lib/media/store";
import { act } from "@/lib/records/act";
import { own, type ChildRef } from "@/lib/records/child-facts";
import { eraseUnclaimed, mediaStore } from "@/lib/records/media";
import { recordPlayed } from "@/lib/records/played";
import type { PreparedVoice } from "@/lib/voice/prepared";

export type VoiceNote = { readonly voiceNoteId: string; readonly durationMs: number };

/** Asked before the first byte is read, and but for the room again inside the act. Refused: `form-invalid`, `set-voided`, `voice-disk-full`. */
export async function mayRecord(grant: ChildGrant<"answer.write">, photoSetId: string): Promise<Result<null>> {
  const open = database().transaction((tx) => readOpenSet(tx, grant, photoSetId));
  return open.ok && isDiskLow() ? refuse("voice-disk-full") : open;
}

function readOpenSet(tx: Transaction, ref: ChildRef, photoSetId: string): Result<null> {
  const set = tx.select({ voidedAt: photoSets.voidedAt }).from(photoSets)
    .where(and(own(photoSets, ref), eq(photoSets.id, photoSetId), isNotNull(photoSets.sentAt))).get();
  if (!set) return refuse("form-invalid", { field: "photoSetId" });
  return set.voidedAt === null ? ok(null) : refuse("set-voided");
}

/**
 * Keeps a spoken note for the answer to this photo set: the file first, synced, then the rows. It takes
 * the place of this person's earlier one that no answer holds. It is nobody's but theirs until an answer
 * with it is sent.
 */
export async function addVoiceNote(grant: ChildGrant<"answer.write">, photoSetId: string, note: PreparedVoice, now: number): Promise<Result<VoiceNote>> {
  const open = await mayRecord(grant, photoSetId);
  if (!open.ok) return open;
  const stored = await store(note.bytes);
  if (!stored.ok) return stored;
  const media = stored.value;
  const voiceNoteId = crypto.randomUUID();
  const left: string[] = [];
  const added = act(grant, "voice-note.added", now, (tx) => {
    const still = readOpenSet(tx, grant, photoSetId);
    if (!still.ok) return still;
    left.push(...dropUnsent(tx, grant, photoSetId, now));
    const ofChild = { childId: grant.childId, familyId: grant.familyId };
    const { container, durationMs } = note;
    tx.insert(voiceNotes).values({ id: voiceNoteId, ...ofChild, photoSetId, container, durationMs, recordedBy: grant.actor.personId, recordedAt: now }).run();
    const { fileId, byteLength, sha256, keyId } = media;
    tx.insert(mediaFiles).values({ fileId, ...ofChild, voiceNoteId, kind: "voice", byteLength, sha256, keyId, storedAt: now }).run();
    return ok({ objectId: voiceNoteId, value: { voiceNoteId, durationMs } });
  });
  await eraseUnclaimed([...left, media.fileId]);
  return added;
}

async function store(bytes: Buffer): Promise<Result<StoredMedia>> {
  try {
    return ok(await mediaStore().put(bytes));
  } catch (error) {
    if (error instanceof MediaError && error.fault === "disk-full") return refuse("voice-disk-full");
    throw error;
  }
}

/** Throws away this person's own note that no answer holds; nothing to throw away is no problem. */
export async function removeVoiceNote(grant: ChildGrant<"answer.write">, photoSetId: string, now: number): Promise<Result<null>> {
  const left: string[] = [];
  const removed = act(grant, "voice-note.removed", now, (tx) => {
    left.push(...dropUnsent(tx, grant, photoSetId, now));
    return ok({ objectId: photoSetId, value: null });
  });
  await eraseUnclaimed(left);
  return removed;
}

/** Gives the files that lost their rows, to be erased once that is certain. */
function dropUnsent(tx: Transaction, grant: ChildGrant<"answer.write">, photoSetId: string, now: number): readonly string[] {
  const ids = unsent(tx, grant, photoSetId).map((note) => note.voiceNoteId);
  const files = tx.select({ fileId: mediaFiles.fileId }).from(mediaFiles).where(and(own(mediaFiles, grant), inArray(mediaFiles.voiceNoteId, ids))).all();
  tx.delete(mediaFiles).where(and(own(mediaFiles, grant), inArray(mediaFiles.voiceNoteId, ids))).run();
  tx.update(voiceNotes).set({ removedAt: now }).where(and(own(voiceNotes, grant), inArray(voiceNotes.id, ids))).run();
  return files.map((file) => file.fileId);
}

/** An answer that was not taken back and holds the note of the row around it. */
const heldBy = (tx: Transaction, more?: SQL) =>
  tx.select({ one: sql`1` }).from(answers).where(and(eq(answers.voiceNoteId, voiceNotes.id), isNull(answers.takenBackAt), more));

function unsent(tx: Transaction, grant: ChildGrant<"answer.write">, photoSetId: string): readonly VoiceNote[] {
  return tx.select({ voiceNoteId: voiceNotes.id, durationMs: voiceNotes.durationMs }).from(voiceNotes).where(and(
    own(voiceNotes, grant), eq(voiceNotes.photoSetId, photoSetId), eq(voiceNotes.recordedBy, grant.actor.personId), isNull(voiceNotes.removedAt),
    notExists(heldBy(tx)),
  )).orderBy(desc(voiceNotes.recordedAt)).all();
}

/** This person's note that waits for its answer to be sent; nobody else's. */
export async function ownVoiceNote(grant: ChildGrant<"answer.write">, photoSetId: string): Promise<VoiceNote | null> {
  return database().transaction((tx) => unsent(tx, grant, photoSetId)[0] ?? null);
}

/**
 * Gives a just written answer its spoken note, inside the act that sends it. Refused with `voice-gone`
 * unless it is this set's and this person's and not thrown away, or an earlier version of the answer holds it.
 */
export function attachVoiceNote(tx: Transaction, grant: ChildGrant<"answer.write">, answerId: string, photoSetId: string, voiceNoteId: string | null): Result<null> {
  if (voiceNoteId === null) return ok(null);
  const note = tx.select({ id: voiceNotes.id }).from(voiceNotes).where(and(
    own(voiceNotes, grant), eq(voiceNotes.id, voiceNoteId), eq(voiceNotes.photoSetId, photoSetId), isNull(voiceNotes.removedAt),
    or(eq(voiceNotes.recordedBy, grant.actor.personId), exists(heldBy(tx))),
  )).get();
  if (!note) return refuse("voice-gone", { field: "voice" });
  tx.update(answers).set({ voiceNoteId }).where(and(own(answers, grant), eq(answers.id, answerId))).run();
  return ok(null);
}

const notesOfAnswers = prepared((db) => db.select({ answerId: answers.id, voiceNoteId: voiceNotes.id, durationMs: voiceNotes.durationMs }).from(answers)
  .innerJoin(voiceNotes, and(eq(voiceNotes.id, answers.voiceNoteId), eq(voiceNotes.childId, answers.childId)))
  .innerJoin(photoSets, and(eq(photoSets.id, answers.photoSetId), eq(photoSets.childId, answers.childId)))
  .where(and(own(answers, OF_CHILD), among(answers.id, "answerIds"), isNull(photoSets.voidedAt))).prepare());

/** The notes of those of these answers whose set is not void, by the answer; they stay open when consent for photos is withdrawn, as the words do. */
export const voicesOf = ({ childId, familyId }: ChildRef, answerIds: readonly string[]): ReadonlyMap<string, VoiceNote> =>
  new Map(notesOfAnswers().all({ childId, familyId, answerIds: JSON.stringify(answerIds) }).map(({ answerId, ...note }) => [answerId, note]));

export type Heard = {
  readonly container: "webm" | "mp4";
  /** Of the whole note. */
  readonly byteLength: number;
  readonly sha256: string;
  /** Opens only the frames that the range needs. */
  read(range: ByteRange): Promise<Buffer>;
};

/**
 * One spoken note, or null when this person may not hear it now. Families hear what a published answer
 * holds, staff what any answer holds, and the recorder also what waits to be sent. A member of staff's
 * listening is audited, once however many ranges the player asks for.
 */
export async function heardNote(grant: ChildGrant<"child.read">, voiceNoteId: string, now: number): Promise<Heard | null> {
  const isOfStaff = isStaff(grant.actor.role);
  const row = database().transaction((tx) => {
    const inAnswer = heldBy(tx, isOfStaff ? undefined : lte(answers.publishedAt, now));
    return tx.select({
      container: voiceNotes.container, fileId: mediaFiles.fileId, byteLength: mediaFiles.byteLength, sha256: mediaFiles.sha256,
    }).from(voiceNotes)
      .innerJoin(mediaFiles, and(eq(mediaFiles.voiceNoteId, voiceNotes.id), eq(mediaFiles.childId, voiceNotes.childId)))
      .innerJoin(photoSets, and(eq(photoSets.id, voiceNotes.photoSetId), eq(photoSets.childId, voiceNotes.childId)))
      .where(and(
        own(voiceNotes, grant), eq(voiceNotes.id, voiceNoteId), isNull(voiceNotes.removedAt), isNull(photoSets.voidedAt),
        isOfStaff ? or(exists(inAnswer), eq(voiceNotes.recordedBy, grant.actor.personId)) : exists(inAnswer),
      )).get();
  });
  if (!row) return null;
  if (isOfStaff) recordPlayed(grant, "voice-note.heard", voiceNoteId, now);
  const { container, byteLength, sha256, fileId } = row;
  return { container, byteLength, sha256, read: (range) => mediaStore().read(fileId, range) };
}
