import "server-only";
import { and, eq, inArray, isNotNull, isNull, or, sql, type SQL } from "drizzle-orm";
import { database, type Database } from "@/db/client";
import { OF_CHILD, prepared } from "@/db/prepared";
import { answers } from "@/db/schema/answers";
import { mediaFiles, photoSets, photos } from "@/db/schema/photos";
import { isStaff } from "@/lib/access/actor";
import type { ChildGrant } from "@/lib/access/grant";
import { practiceStore } from "@/lib/media/practice-store";
import { isUnreachable, type MediaStore } from "@/lib/media/store";
import { appendAudit } from "@/lib/audit/append";
import { writeReading } from "@/lib/audit/reading";
import { own, readPhotoConsent } from "@/lib/records/child-facts";
import { inForce } from "@/lib/records/in-force";
import { isForFamily } from "@/lib/records/sent-photos";

export function mediaStore(): MediaStore {
  return practiceStore();
}

/**
 * Erases those of these files that no row knows: the act they were stored for was refused or had happened
 * before under its key, or its pictures took their place. What a crash leaves, the sweep at start removes, and also
 * what cannot be reached now: the act itself is done.
 */
export async function eraseUnclaimed(fileIds: readonly string[]): Promise<void> {
  const rows = database().select({ fileId: mediaFiles.fileId }).from(mediaFiles).where(inArray(mediaFiles.fileId, [...fileIds])).all();
  const claimed = new Set(rows.map(({ fileId }) => fileId));
  await Promise.all(fileIds.filter((fileId) => !claimed.has(fileId)).map((fileId) => mediaStore().erase(fileId).catch((error: unknown) => {
    if (!isUnreachable(error)) throw error;
  })));
}

export type PictureKind = "2048" | "1024" | "320" | "marked";

const NOW = sql.placeholder("now");
const pictures = (db: Database, which: SQL | undefined) => db.select({ fileId: mediaFiles.fileId, sha256: mediaFiles.sha256 })
  .from(mediaFiles)
  .innerJoin(photos, eq(photos.id, mediaFiles.photoId))
  .innerJoin(photoSets, eq(photoSets.id, photos.photoSetId))
  .leftJoin(answers, eq(answers.id, mediaFiles.answerId))
  .where(and(
    own(mediaFiles, OF_CHILD), eq(mediaFiles.photoId, sql.placeholder("photoId")), eq(mediaFiles.kind, sql.placeholder("kind")),
    isNull(photos.removedAt), isNull(photoSets.voidedAt),
    // Marks are seen with the answer they belong to, neither before it is published nor after it was amended.
    or(isNull(mediaFiles.answerId), inForce(NOW)),
    // Until it is sent, a photo exists for nobody but its sender.
    or(isNotNull(photoSets.sentAt), eq(photoSets.sentBy, sql.placeholder("personId"))),
    which,
  )).prepare();
const pictureForStaff = prepared((db) => pictures(db, undefined));
const pictureForFamily = prepared((db) => pictures(db, isForFamily(NOW)));

/** One picture of a photo, to be read, or null when this person may not see it now. A member of staff's view is audited. */
export async function pictureOf(
  grant: ChildGrant<"photo.view">,
  photoId: string,
  kind: PictureKind,
  now: number,
): Promise<{ readonly sha256: string; read(): Promise<Buffer> } | null> {
  // Consent withdrawn: the pictures close to everyone at once.
  if (readPhotoConsent(grant, now) !== "given") return null;
  const isOfStaff = isStaff(grant.actor.role);
  const { childId, familyId, actor: { personId } } = grant;
  const row = (isOfStaff ? pictureForStaff : pictureForFamily)().get({ childId, familyId, photoId, kind, now, personId });
  if (!row) return null;
  if (isOfStaff) recordView(grant, photoId, now);
  return { sha256: row.sha256, read: () => mediaStore().read(row.fileId) };
}

/** One entry a picture and session is kept by the caller's cache; here each authorised view counts. */
function recordView(grant: ChildGrant<"photo.view">, photoId: string, now: number): void {
  writeReading((tx) => appendAudit(tx, {
    at: now, actorId: grant.actor.personId, role: grant.actor.role, act: "photo.viewed", objectId: photoId,
    familyId: grant.familyId, outcome: "done", requestId: grant.actor.requestId, sessionHash: grant.actor.sessionId,
  }));
}
