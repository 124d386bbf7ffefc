import "server-only";
import { and, eq, isNull } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { clips } from "@/db/schema/clips";
import { erasedFiles } from "@/db/schema/erasure";
import { mediaFiles, photoSets, photos } from "@/db/schema/photos";
import type { ChildGrant } from "@/lib/access/grant";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { act } from "@/lib/records/act";
import { own } from "@/lib/records/child-facts";
import { mediaStore } from "@/lib/records/media";
import { finishErasing } from "@/lib/records/tombstones";

/**
 * Takes one photo out of a set that this person has not sent: its pictures are erased at once. Its row stays
 * for the day in which it counts among the photos of a family, and goes with the left-overs. Done before, it is done.
 */
export async function removePhoto(grant: ChildGrant<"photo-set.send">, photoId: string, now: number): Promise<Result<null>> {
  const there = database().select({ removedAt: photos.removedAt }).from(photos).innerJoin(photoSets, eq(photoSets.id, photos.photoSetId))
    .where(and(own(photos, grant), eq(photos.id, photoId), isNull(photoSets.sentAt), eq(photoSets.sentBy, grant.actor.personId))).get();
  if (!there) return refuse("set-finished");
  if (there.removedAt !== null) return ok(null);
  return erased(act(grant, "photo.removed", now, (tx) => (
    emptied(tx, grant, photoId, now) ? ok({ objectId: photoId, value: null }) : refuse("set-finished")
  )));
}

/**
 * Takes a whole set out before it was sent, with whatever of it has arrived; nothing more of it is taken in.
 * One that is not there, or is sent, stays as it is: there is nothing unsent to take out.
 */
export async function removeUnsentSet(grant: ChildGrant<"photo-set.send">, setId: string, now: number): Promise<Result<null>> {
  const isThere = and(own(photoSets, grant), eq(photoSets.id, setId), eq(photoSets.sentBy, grant.actor.personId), isNull(photoSets.sentAt), isNull(photoSets.voidedAt));
  if (!database().select({ id: photoSets.id }).from(photoSets).where(isThere).get()) return ok(null);
  return erased(act(grant, "photo-set.taken-out", now, (tx) => {
    const taken = tx.update(photoSets).set({ voidedAt: now, voidedBy: grant.actor.personId, voidReason: "erased" }).where(isThere).run();
    const left = taken.changes === 0 ? [] : tx.select({ id: photos.id }).from(photos)
      .where(and(own(photos, grant), eq(photos.photoSetId, setId), isNull(photos.removedAt))).all();
    for (const { id } of left) emptied(tx, grant, id, now);
    return ok({ objectId: setId, value: null });
  }));
}

/** Removed, and nothing left in its row that the picture gave; false where it is sent or gone by now. */
function emptied(tx: Transaction, grant: ChildGrant<"photo-set.send">, photoId: string, now: number): boolean {
  const unsent = tx.select({ id: photos.id }).from(photos).innerJoin(photoSets, eq(photoSets.id, photos.photoSetId)).where(and(
    own(photos, grant), eq(photos.id, photoId), isNull(photos.removedAt), isNull(photoSets.sentAt), eq(photoSets.sentBy, grant.actor.personId),
  )).get();
  if (!unsent) return false;
  const files = and(own(mediaFiles, grant), eq(mediaFiles.photoId, photoId));
  for (const { fileId } of tx.select({ fileId: mediaFiles.fileId }).from(mediaFiles).where(files).all()) {
    tx.insert(erasedFiles).values({ fileId }).onConflictDoNothing().run();
  }
  tx.delete(mediaFiles).where(files).run();
  tx.delete(clips).where(and(own(clips, grant), eq(clips.photoId, photoId))).run();
  tx.update(photos).set({
    removedAt: now, placeholder: "", hash: "", cardReading: null, takenAt: null, headX: null, headY: null, facing: null, sideCheck: null,
  }).where(and(own(photos, grant), eq(photos.id, photoId))).run();
  return true;
}

async function erased(done: Result<null>): Promise<Result<null>> {
  if (done.ok) await finishErasing(database(), mediaStore());
  return done;
}
