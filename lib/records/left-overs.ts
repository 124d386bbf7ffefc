import "server-only";
import { and, eq, exists, isNull, lte, notExists, or, sql } from "drizzle-orm";
import type { Database, Transaction } from "@/db/client";
import { answers, drafts } from "@/db/schema/answers";
import { quarantines } from "@/db/schema/erasure";
import { actsDone } from "@/db/schema/machinery";
import { mediaFiles, photoSets, photos } from "@/db/schema/photos";
import { voiceNotes } from "@/db/schema/voice";
import { LEFT_OVER_DAYS } from "@/lib/domain/retention/retention";
import { DAY_MS } from "@/lib/domain/time/local";
import type { Tombstone } from "@/lib/records/erasing";
import { isHeldBy, isMoment } from "@/lib/records/sent-photos";

/** A photo somebody took out or sent anew is gone for them at once; a day later it is gone. */
const REMOVED_MS = DAY_MS;

/** Photos and spoken notes that nobody can see any more or that were never finished, and moments of clips that no answer came to hold. For lib/records alone. */
export function leftOvers(db: Database, now: number): readonly Pick<Tombstone, "kind" | "id">[] {
  const old = now - LEFT_OVER_DAYS * DAY_MS;
  const isSetAside = exists(db.select({ one: sql`1` }).from(quarantines).where(and(eq(quarantines.photoId, photos.id), isNull(quarantines.releasedAt))));
  const pictures = db.select({ id: photos.id }).from(photos).innerJoin(photoSets, eq(photoSets.id, photos.photoSetId)).where(and(
    sql`not ${isSetAside}`,
    or(lte(photos.removedAt, now - REMOVED_MS), and(isNull(photoSets.sentAt), lte(photoSets.startedAt, old)), lte(photoSets.voidedAt, old), and(isMoment, lte(photos.storedAt, old), sql`not (${isHeldBy(isNull(answers.takenBackAt))})`)),
  )).all();
  const isHeld = db.select({ one: sql`1` }).from(answers).where(eq(answers.voiceNoteId, voiceNotes.id));
  const notes = db.select({ id: voiceNotes.id }).from(voiceNotes).innerJoin(mediaFiles, eq(mediaFiles.voiceNoteId, voiceNotes.id))
    .where(and(lte(voiceNotes.recordedAt, old), notExists(isHeld))).all();
  return [...pictures.map(({ id }) => ({ kind: "photo" as const, id })), ...notes.map(({ id }) => ({ kind: "voice-note" as const, id }))];
}

/** What holds no picture and goes without a tombstone: empty sets, drafts nobody touched, what acts remember. */
export function sweepLeftOvers(tx: Transaction, now: number): void {
  const old = now - LEFT_OVER_DAYS * DAY_MS;
  const inSet = tx.select({ one: sql`1` }).from(photos).where(eq(photos.photoSetId, photoSets.id));
  tx.delete(photoSets).where(and(isNull(photoSets.sentAt), lte(photoSets.startedAt, old), notExists(inSet))).run();
  tx.delete(drafts).where(and(isNull(drafts.sentAt), lte(drafts.savedAt, old))).run();
  tx.delete(actsDone).where(lte(actsDone.doneAt, old)).run();
}
