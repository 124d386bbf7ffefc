import "server-only";
import { and, eq, sql } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { OF_CHILD, prepared } from "@/db/prepared";
import { answers } from "@/db/schema/answers";
import { mediaFiles } from "@/db/schema/photos";
import type { Mark } from "@/lib/domain/marks/marks";
import { MARK_COLOURS, marksToSvg } from "@/lib/domain/marks/svg";
import { ok, type Result } from "@/lib/domain/result";
import type { StoredMedia } from "@/lib/media/store";
import { markLabels } from "@/lib/messages/mark-labels";
import { flatten } from "@/lib/photos/flatten";
import { own, type ChildRef } from "@/lib/records/child-facts";
import { inForce } from "@/lib/records/in-force";
import { mediaStore } from "@/lib/records/media";

export type MarkedPhoto = {
  readonly photoId: string; readonly width: number; readonly height: number; readonly marks: readonly Mark[];
  /** As in `readingOf`: what the drawing on the desk was measured against. */
  readonly levelDegrees: number | null;
};
export type MarkedPicture = MarkedPhoto & { readonly media: StoredMedia };

/**
 * Draws each photo's marks into its largest picture and stores the result; slow, so it comes before
 * the transaction. What no row takes up afterwards, its caller erases. Refused as `flatten`.
 */
export async function makeMarkedPictures(ref: ChildRef, photos: readonly MarkedPhoto[]): Promise<Result<readonly MarkedPicture[]>> {
  const made: MarkedPicture[] = [];
  for (const photo of photos) {
    if (photo.marks.length === 0) continue;
    const kept = database().select({ fileId: mediaFiles.fileId }).from(mediaFiles)
      .where(and(own(mediaFiles, ref), eq(mediaFiles.photoId, photo.photoId), eq(mediaFiles.kind, "2048"))).get();
    if (!kept) throw new Error("a sent photo has no picture");
    const flat = await flatten(await mediaStore().read(kept.fileId), marksToSvg(photo.marks, photo.width, photo.height, MARK_COLOURS, markLabels(), photo.levelDegrees));
    if (!flat.ok) return flat;
    made.push({ ...photo, media: await mediaStore().put(flat.value) });
  }
  return ok(made);
}

/** For lib/records alone, inside the act that sends the answer. */
export function insertMarkedPicture(tx: Transaction, ref: ChildRef, answerId: string, picture: MarkedPicture, now: number): void {
  const { media, photoId, width, height } = picture;
  tx.insert(mediaFiles).values({
    fileId: media.fileId, childId: ref.childId, familyId: ref.familyId, photoId, kind: "marked", answerId, width, height,
    byteLength: media.byteLength, sha256: media.sha256, keyId: media.keyId, storedAt: now,
  }).run();
}

const marked = prepared((db) => db.select({ photoId: mediaFiles.photoId }).from(mediaFiles).innerJoin(answers, eq(answers.id, mediaFiles.answerId))
  .where(and(own(mediaFiles, OF_CHILD), eq(mediaFiles.kind, "marked"), inForce(sql.placeholder("now")))).prepare());

/** The photos of this child into which an answer in force has its marks drawn. */
export const photosWithMarkedPicture = ({ childId, familyId }: ChildRef, now: number): ReadonlySet<string | null> =>
  new Set(marked().all({ childId, familyId, now }).map(({ photoId }) => photoId));
