import "server-only";
import { and, eq, inArray, isNotNull, isNull, or, sql } from "drizzle-orm";
import type { Transaction } from "@/db/client";
import { answerPairs, answers, answerSpans, claims, drafts, marks } from "@/db/schema/answers";
import { careLinks, children, families } from "@/db/schema/care";
import { clips } from "@/db/schema/clips";
import { erasedFiles, erasureRequests, quarantines, tombstones } from "@/db/schema/erasure";
import { mediaFiles, photoDecisions, photoSets, photos } from "@/db/schema/photos";
import { voiceNotes } from "@/db/schema/voice";
import { own, type ChildRef } from "@/lib/records/child-facts";
import { AnswerDraft } from "@/lib/records/drafts";
import { erasePersonLeftOver, forgetMentions } from "@/lib/records/erased-people";
import { endExports } from "@/lib/records/export-files";
import { CHILD_TABLES, idsIn } from "@/lib/records/erased-tables";
import { isFamilys } from "@/lib/records/sent-photos";

export type Tombstone = typeof tombstones.$inferSelect;

/**
 * Erases some things with all that hangs on them, in the transaction of the act that does it: their tombstones,
 * their rows, and the names of their files for `finishErasing`, so that a crash leaves them whole or finished at
 * the next start. Gives those of which something was there. For lib/records alone.
 */
export function eraseRows(tx: Transaction, stones: readonly Tombstone[]): readonly Tombstone[] {
  // What refers to what is settled when the act ends; a row that was forgotten then ends the whole act.
  tx.run(sql`pragma defer_foreign_keys = on`);
  const gone = new Set<string>();
  const found = stones.filter((stone) => {
    tx.insert(tombstones).values(stone).onConflictDoNothing().run();
    return ERASE[stone.kind](tx, stone, gone);
  });
  forgetMentions(tx, gone);
  return found;
}

/** Each says whether it was there, and adds the ids that went with it. */
const ERASE: Readonly<Record<Tombstone["kind"], (tx: Transaction, stone: Tombstone, gone: Set<string>) => boolean>> = {
  photo: erasePhoto, "voice-note": eraseVoiceNote, child: eraseChild, family: eraseFamily,
};

function erasePhoto(tx: Transaction, { id: photoId, erasedAt }: Pick<Tombstone, "id" | "erasedAt">, gone: Set<string>): boolean {
  const photo = tx.select({ childId: photos.childId, familyId: photos.familyId, photoSetId: photos.photoSetId, momentOf: photos.momentOf }).from(photos).where(eq(photos.id, photoId)).get();
  if (!photo) return false;
  // What was taken from its clip goes with the clip.
  for (const { id } of tx.select({ id: photos.id }).from(photos).where(and(own(photos, photo), eq(photos.momentOf, photoId))).all()) erasePhoto(tx, { id, erasedAt }, gone);
  endExports(tx, photo, undefined, erasedAt);
  forgetFiles(tx, tx.select({ fileId: mediaFiles.fileId }).from(mediaFiles).where(and(own(mediaFiles, photo), eq(mediaFiles.photoId, photoId))).all());
  for (const table of [clips, marks, answerSpans, photoDecisions, quarantines] as const) tx.delete(table).where(and(own(table, photo), eq(table.photoId, photoId))).run();
  tx.delete(answerPairs).where(and(own(answerPairs, photo), or(eq(answerPairs.thenPhotoId, photoId), eq(answerPairs.nowPhotoId, photoId)))).run();
  forgetWhere(tx, photo, photoId);
  gone.add(photoId);
  tx.delete(photos).where(and(own(photos, photo), eq(photos.id, photoId))).run();
  // No photo of the family's is gone with a moment.
  if (photo.momentOf !== null) return true;
  tx.update(photoSets).set({ photosErasedAt: erasedAt }).where(and(own(photoSets, photo), eq(photoSets.id, photo.photoSetId))).run();
  voidIfNothingLeft(tx, photo, photo.photoSetId, erasedAt);
  return true;
}

/** A set that nobody answered and that has no picture left is nothing to answer any more. What was answered stays. */
function voidIfNothingLeft(tx: Transaction, ref: ChildRef, photoSetId: string, at: number): void {
  const left = tx.select({ id: photos.id }).from(photos).leftJoin(quarantines, and(eq(quarantines.photoId, photos.id), isNull(quarantines.releasedAt)))
    .where(and(own(photos, ref), eq(photos.photoSetId, photoSetId), isFamilys, or(isNull(photos.removedAt), isNotNull(quarantines.id)))).get();
  const answer = tx.select({ id: answers.id }).from(answers).where(and(own(answers, ref), eq(answers.photoSetId, photoSetId), isNull(answers.takenBackAt))).get();
  if (left || answer) return;
  const voided = tx.update(photoSets).set({ voidedAt: at, voidReason: "erased" })
    .where(and(own(photoSets, ref), eq(photoSets.id, photoSetId), isNotNull(photoSets.sentAt), isNull(photoSets.voidedAt))).run();
  if (voided.changes === 0) return;
  tx.delete(claims).where(eq(claims.photoSetId, photoSetId)).run();
  tx.delete(drafts).where(and(own(drafts, ref), eq(drafts.photoSetId, photoSetId))).run();
}

function eraseVoiceNote(tx: Transaction, { id: voiceNoteId, erasedAt }: Tombstone, gone: Set<string>): boolean {
  const note = tx.select({ childId: voiceNotes.childId, familyId: voiceNotes.familyId }).from(voiceNotes).where(eq(voiceNotes.id, voiceNoteId)).get();
  if (!note) return false;
  endExports(tx, note, undefined, erasedAt);
  forgetFiles(tx, tx.select({ fileId: mediaFiles.fileId }).from(mediaFiles).where(and(own(mediaFiles, note), eq(mediaFiles.voiceNoteId, voiceNoteId))).all());
  tx.update(answers).set({ voiceNoteId: null }).where(and(own(answers, note), eq(answers.voiceNoteId, voiceNoteId))).run();
  forgetWhere(tx, note, voiceNoteId);
  gone.add(voiceNoteId);
  tx.delete(voiceNotes).where(and(own(voiceNotes, note), eq(voiceNotes.id, voiceNoteId))).run();
  return true;
}

/** What else names one photo or note: fields of drafts, and requests to erase it. */
function forgetWhere(tx: Transaction, ref: ChildRef, id: string): void {
  for (const draft of tx.select({ id: drafts.id, body: drafts.body }).from(drafts).where(own(drafts, ref)).all()) {
    if (!draft.body.includes(id)) continue;
    const kept = Object.entries(AnswerDraft.parse(JSON.parse(draft.body))).filter(([name, value]) => !name.includes(id) && !value.includes(id));
    tx.update(drafts).set({ body: JSON.stringify(Object.fromEntries(kept)), version: sql`${drafts.version} + 1` }).where(eq(drafts.id, draft.id)).run();
  }
  tx.delete(erasureRequests).where(and(eq(erasureRequests.familyId, ref.familyId), eq(erasureRequests.objectId, id))).run();
}

function eraseChild(tx: Transaction, { id: childId, erasedAt }: Pick<Tombstone, "id" | "erasedAt">, gone: Set<string>): boolean {
  const child = tx.select({ childId: children.id, familyId: children.familyId }).from(children).where(eq(children.id, childId)).get();
  if (!child) return false;
  endExports(tx, child, undefined, erasedAt);
  const carers = tx.selectDistinct({ id: careLinks.personId }).from(careLinks).where(own(careLinks, child)).all();
  forgetFiles(tx, tx.select({ fileId: mediaFiles.fileId }).from(mediaFiles).where(own(mediaFiles, child)).all());
  for (const id of idsIn(tx, child)) gone.add(id);
  tx.delete(claims).where(inArray(claims.photoSetId, tx.select({ id: photoSets.id }).from(photoSets).where(own(photoSets, child)))).run();
  for (const table of CHILD_TABLES) tx.delete(table).where(and(eq(table.childId, child.childId), eq(table.familyId, child.familyId))).run();
  tx.delete(children).where(eq(children.id, childId)).run();
  for (const { id } of carers) erasePersonLeftOver(tx, id);
  return true;
}

function eraseFamily(tx: Transaction, { id: familyId, erasedAt }: Tombstone, gone: Set<string>): boolean {
  const family = tx.select({ id: families.id }).from(families).where(eq(families.id, familyId)).get();
  if (!family) return false;
  for (const child of tx.select({ id: children.id }).from(children).where(eq(children.familyId, familyId)).all()) eraseChild(tx, { ...child, erasedAt }, gone);
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
