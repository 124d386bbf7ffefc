import "server-only";
import { and, eq, inArray, isNotNull, isNull, or, sql } from "drizzle-orm";
import type { Transaction } from "@/db/client";
import { answerPairs, answers, claims, drafts, marks } from "@/db/schema/answers";
import { careLinks, children, families } from "@/db/schema/care";
import { erasedFiles, erasureRequests, quarantines, tombstones } from "@/db/schema/erasure";
import { mediaFiles, photoDecisions, photoSets, photos } from "@/db/schema/photos";
import { voiceNotes } from "@/db/schema/voice";
import { own, type ChildRef } from "@/lib/records/child-facts";
import { AnswerDraft } from "@/lib/records/drafts";
import { erasePersonLeftOver, forgetMentions } from "@/lib/records/erased-people";
import { CHILD_TABLES, idsIn } from "@/lib/records/erased-tables";

export type Tombstone = typeof tombstones.$inferSelect;

/**
 * Erases one thing with all that hangs on it, in the transaction of the act that does it: its tombstone, its
 * rows, and the names of its files for `finishErasing`, so that a crash leaves it whole or finished at the
 * next start. False when nothing of it was there. For lib/records alone.
 */
export function eraseRows(tx: Transaction, stone: Tombstone): boolean {
  tx.insert(tombstones).values(stone).onConflictDoNothing().run();
  // What refers to what is settled when the act ends; a row that was forgotten then ends the whole act.
  tx.run(sql`pragma defer_foreign_keys = on`);
  if (stone.kind === "photo") return erasePhoto(tx, stone);
  if (stone.kind === "voice-note") return eraseVoiceNote(tx, stone);
  if (stone.kind === "child") return eraseChild(tx, stone.id);
  return eraseFamily(tx, stone.id);
}

function erasePhoto(tx: Transaction, { id: photoId, erasedAt }: Tombstone): boolean {
  const photo = tx.select({ childId: photos.childId, familyId: photos.familyId, photoSetId: photos.photoSetId }).from(photos).where(eq(photos.id, photoId)).get();
  if (!photo) return false;
  forgetFiles(tx, tx.select({ fileId: mediaFiles.fileId }).from(mediaFiles).where(and(own(mediaFiles, photo), eq(mediaFiles.photoId, photoId))).all());
  for (const table of [marks, photoDecisions, quarantines] as const) tx.delete(table).where(and(own(table, photo), eq(table.photoId, photoId))).run();
  tx.delete(answerPairs).where(and(own(answerPairs, photo), or(eq(answerPairs.thenPhotoId, photoId), eq(answerPairs.nowPhotoId, photoId)))).run();
  forgetWhere(tx, photo, photoId);
  tx.delete(photos).where(and(own(photos, photo), eq(photos.id, photoId))).run();
  tx.update(photoSets).set({ photosErasedAt: erasedAt }).where(and(own(photoSets, photo), eq(photoSets.id, photo.photoSetId))).run();
  voidIfNothingLeft(tx, photo, photo.photoSetId, erasedAt);
  return true;
}

/** A set that nobody answered and that has no picture left is nothing to answer any more. What was answered stays. */
function voidIfNothingLeft(tx: Transaction, ref: ChildRef, photoSetId: string, at: number): void {
  const left = tx.select({ id: photos.id }).from(photos).leftJoin(quarantines, and(eq(quarantines.photoId, photos.id), isNull(quarantines.releasedAt)))
    .where(and(own(photos, ref), eq(photos.photoSetId, photoSetId), or(isNull(photos.removedAt), isNotNull(quarantines.id)))).get();
  const answer = tx.select({ id: answers.id }).from(answers).where(and(own(answers, ref), eq(answers.photoSetId, photoSetId), isNull(answers.takenBackAt))).get();
  if (left || answer) return;
  const voided = tx.update(photoSets).set({ voidedAt: at, voidReason: "erased" })
    .where(and(own(photoSets, ref), eq(photoSets.id, photoSetId), isNotNull(photoSets.sentAt), isNull(photoSets.voidedAt))).run();
  if (voided.changes === 0) return;
  tx.delete(claims).where(eq(claims.photoSetId, photoSetId)).run();
  tx.delete(drafts).where(and(own(drafts, ref), eq(drafts.photoSetId, photoSetId))).run();
}

function eraseVoiceNote(tx: Transaction, { id: voiceNoteId }: Tombstone): boolean {
  const note = tx.select({ childId: voiceNotes.childId, familyId: voiceNotes.familyId }).from(voiceNotes).where(eq(voiceNotes.id, voiceNoteId)).get();
  if (!note) return false;
  forgetFiles(tx, tx.select({ fileId: mediaFiles.fileId }).from(mediaFiles).where(and(own(mediaFiles, note), eq(mediaFiles.voiceNoteId, voiceNoteId))).all());
  tx.update(answers).set({ voiceNoteId: null }).where(and(own(answers, note), eq(answers.voiceNoteId, voiceNoteId))).run();
  forgetWhere(tx, note, voiceNoteId);
  tx.delete(voiceNotes).where(and(own(voiceNotes, note), eq(voiceNotes.id, voiceNoteId))).run();
  return true;
}

/** What else names one photo or note: fields of drafts, requests to erase it, remembered answers of acts. */
function forgetWhere(tx: Transaction, ref: ChildRef, id: string): void {
  for (const draft of tx.select({ id: drafts.id, body: drafts.body }).from(drafts).where(own(drafts, ref)).all()) {
    if (!draft.body.includes(id)) continue;
    const kept = Object.entries(AnswerDraft.parse(JSON.parse(draft.body))).filter(([name, value]) => !name.includes(id) && !value.includes(id));
    tx.update(drafts).set({ body: JSON.stringify(Object.fromEntries(kept)), version: sql`${drafts.version} + 1` }).where(eq(drafts.id, draft.id)).run();
  }
  tx.delete(erasureRequests).where(and(eq(erasureRequests.familyId, ref.familyId), eq(erasureRequests.objectId, id))).run();
  forgetMentions(tx, new Set([id]));
}

function eraseChild(tx: Transaction, childId: string): boolean {
  const child = tx.select({ childId: children.id, familyId: children.familyId }).from(children).where(eq(children.id, childId)).get();
  if (!child) return false;
  const carers = tx.selectDistinct({ id: careLinks.personId }).from(careLinks).where(own(careLinks, child)).all();
  forgetFiles(tx, tx.select({ fileId: mediaFiles.fileId }).from(mediaFiles).where(own(mediaFiles, child)).all());
  const known = idsIn(tx, child);
  tx.delete(claims).where(inArray(claims.photoSetId, tx.select({ id: photoSets.id }).from(photoSets).where(own(photoSets, child)))).run();
  for (const table of CHILD_TABLES) tx.delete(table).where(and(eq(table.childId, child.childId), eq(table.familyId, child.familyId))).run();
  tx.delete(children).where(eq(children.id, childId)).run();
  for (const { id } of carers) erasePersonLeftOver(tx, id);
  forgetMentions(tx, known);
  return true;
}

function eraseFamily(tx: Transaction, familyId: string): boolean {
  const family = tx.select({ id: families.id }).from(families).where(eq(families.id, familyId)).get();
  if (!family) return false;
  for (const { id } of tx.select({ id: children.id }).from(children).where(eq(children.familyId, familyId)).all()) eraseChild(tx, id);
  tx.delete(erasureRequests).where(eq(erasureRequests.familyId, familyId)).run();
  tx.delete(families).where(eq(families.id, familyId)).run();
  return true;
}

function forgetFiles(tx: Transaction, files: readonly { readonly fileId: string }[]): void {
  for (const { fileId } of files) {
    tx.insert(erasedFiles).values({ fileId }).onConflictDoNothing().run();
    tx.delete(mediaFiles).where(eq(mediaFiles.fileId, fileId)).run();
  }
}
