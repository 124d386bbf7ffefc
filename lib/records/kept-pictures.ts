import "server-only";
import { and, eq, inArray } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { mediaFiles } from "@/db/schema/photos";
import type { StoredMedia } from "@/lib/media/store";
import type { PreparedPicture } from "@/lib/photos/prepared";
import { own, type ChildRef } from "@/lib/records/child-facts";
import { mediaStore } from "@/lib/records/media";

const KINDS = ["2048", "1024", "320"] as const;

type StoredPicture = { readonly media: StoredMedia; readonly kind: (typeof KINDS)[number]; readonly width: number; readonly height: number };

/** The files of one photo, before the act that gives them their rows. */
export async function storePictures(prepared: PreparedPicture): Promise<readonly StoredPicture[]> {
  return Promise.all(prepared.sizes.map(async (picture, at) => ({
    media: await mediaStore().put(picture.bytes), kind: KINDS[at] ?? "320", width: picture.width, height: picture.height,
  })));
}

export function insertPictures(tx: Transaction, ref: ChildRef, photoId: string, stored: readonly StoredPicture[], now: number): void {
  for (const { media, kind, width, height } of stored) {
    tx.insert(mediaFiles).values({
      fileId: media.fileId, childId: ref.childId, familyId: ref.familyId, photoId, kind, width, height,
      byteLength: media.byteLength, sha256: media.sha256, keyId: media.keyId, storedAt: now,
    }).run();
  }
}

/** The files of a photo's kept pictures, so that they can be erased once others took their place. */
export const filesOf = (ref: ChildRef, photoId: string): readonly string[] =>
  database().select({ fileId: mediaFiles.fileId }).from(mediaFiles)
    .where(and(own(mediaFiles, ref), eq(mediaFiles.photoId, photoId), inArray(mediaFiles.kind, [...KINDS]))).all().map(({ fileId }) => fileId);

/** The old files lose their rows here, not yet themselves. Marked pictures stay. */
export function replacePictureRows(tx: Transaction, ref: ChildRef, photoId: string, stored: readonly StoredPicture[], now: number): void {
  tx.delete(mediaFiles).where(and(own(mediaFiles, ref), eq(mediaFiles.photoId, photoId), inArray(mediaFiles.kind, [...KINDS]))).run();
  insertPictures(tx, ref, photoId, stored, now);
}
