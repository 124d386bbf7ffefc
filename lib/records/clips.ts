import "server-only";
import { and, eq, isNotNull, isNull, or } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { among, OF_CHILD, prepared } from "@/db/prepared";
import { clips } from "@/db/schema/clips";
import { mediaFiles, photoSets, photos } from "@/db/schema/photos";
import { isStaff } from "@/lib/access/actor";
import type { ChildGrant } from "@/lib/access/grant";
import { arrivingClip, expectClip, forgetClip, type Arriving } from "@/lib/clips/arriving";
import { takeInClip } from "@/lib/clips/intake";
import type { PreparedClip } from "@/lib/clips/prepared";
import { CLIP_LIMITS, type ClipContainer } from "@/lib/domain/clip/limits";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { instantTaken } from "@/lib/domain/time/taken";
import type { ByteRange } from "@/lib/media/store";
import { namesClips } from "@/lib/messages/consent-text";
import { act } from "@/lib/records/act";
import { own, readPhotoConsent, type ChildRef } from "@/lib/records/child-facts";
import { readConsent } from "@/lib/records/consent-in-force";
import { eraseUnclaimed, mediaStore } from "@/lib/records/media";
import { maySend, readSending } from "@/lib/records/photo-sets";
import { recordPlayed } from "@/lib/records/played";

/** Whether the consent in force for this child is to a text that names clips. */
export const mayFilm = async (grant: ChildGrant<"photo-set.send">, now: number): Promise<boolean> => readOfClips(grant, now);

function readOfClips(ref: ChildRef, now: number): boolean {
  const consent = readConsent(ref, "photos", now);
  return consent?.decision === "given" && namesClips(consent.textVersion);
}

/** The photo a clip belongs to, while its set is this person's and not sent. */
function unsentFrame(tx: Transaction, grant: ChildGrant<"photo-set.send">, photoId: string) {
  return tx.select({ exerciseKey: photoSets.exerciseKey }).from(photos).innerJoin(photoSets, and(eq(photoSets.id, photos.photoSetId), eq(photoSets.childId, photos.childId))).where(and(
    own(photos, grant), eq(photos.id, photoId), isNull(photos.removedAt), isNull(photoSets.sentAt), isNull(photoSets.voidedAt), eq(photoSets.sentBy, grant.actor.personId),
  )).get();
}

/**
 * Begins to receive a clip under the id its phone made. Asked before the first byte is read; asked again, it goes on where it was.
 * Refused: what a photo would be, `clip-consent`, `clip-photo-gone`, `clip-too-big`, `clip-empty`, `clip-queue-full`.
 */
export async function startClip(grant: ChildGrant<"photo-set.send">, said: { readonly uploadId: string; readonly photoId: string; readonly length: number; readonly takenAt: number | null; readonly turns?: number }, now: number): Promise<Result<ClipProgress>> {
  const frame = database().transaction((tx) => unsentFrame(tx, grant, said.photoId));
  if (!frame) return refuse("clip-photo-gone");
  const sending = await maySend(grant, frame.exerciseKey, now);
  if (!sending.ok) return sending;
  const kept = keptLength(grant, said.uploadId);
  if (kept !== null) return ok({ offset: kept, length: kept });
  if (!readOfClips(grant, now)) return refuse("clip-consent");
  if (said.length > CLIP_LIMITS.maxBytes) return refuse("clip-too-big", { values: { max: CLIP_LIMITS.maxBytes / 1e6 } });
  if (said.length < 1) return refuse("clip-empty");
  const begun = expectClip({ turns: 0, ...said, personId: grant.actor.personId, childId: grant.childId }, now);
  return begun ? ok({ offset: begun.offset, length: begun.length }) : refuse("clip-queue-full", { values: { seconds: 30 } });
}

export type ClipProgress = { readonly offset: number; readonly length: number };

/** How long a clip was that is kept already: the answer that said so may have been lost. */
const keptLength = (ref: ChildRef, uploadId: string): number | null =>
  database().select({ length: clips.receivedBytes }).from(clips).where(and(own(clips, ref), eq(clips.id, uploadId))).get()?.length ?? null;

/** How much of a clip has arrived; a clip that is kept has arrived as a whole. Null: nothing is known of it. */
export async function clipProgress(grant: ChildGrant<"photo-set.send">, uploadId: string, now: number): Promise<ClipProgress | null> {
  const kept = keptLength(grant, uploadId);
  if (kept !== null) return { offset: kept, length: kept };
  const there = arrivingClip(uploadId, { personId: grant.actor.personId, childId: grant.childId }, now);
  return there && { offset: there.offset, length: there.length };
}

/**
 * Adds one piece behind those that are there; with the last one the clip is opened and kept, and only then counts as arrived.
 * `moved`: the piece does not begin where the last one ended. A clip that is refused is gone from here as a whole; when the server was
 * too busy to open it, all but the last piece stays.
 */
export async function addPiece(grant: ChildGrant<"photo-set.send">, uploadId: string, from: number, piece: Buffer, now: number): Promise<Result<ClipProgress | "moved">> {
  const there = arrivingClip(uploadId, { personId: grant.actor.personId, childId: grant.childId }, now);
  if (!there) return refuse("clip-photo-gone");
  if (there.isClosing) return refuse("clip-queue-full", { values: { seconds: 2 } });
  if (from !== there.offset || from + piece.length > there.length) return ok("moved");
  there.touchedAt = now;
  if (from + piece.length < there.length) {
    there.pieces.push(piece);
    there.offset += piece.length;
    return ok({ offset: there.offset, length: there.length });
  }
  there.isClosing = true;
  try {
    const kept = await takeAndKeep(grant, there, piece, now);
    if (kept.ok || kept.problem.code !== "clip-queue-full") forgetClip(uploadId);
    return kept.ok ? ok({ offset: there.length, length: there.length }) : kept;
  } finally {
    there.isClosing = false;
  }
}

async function takeAndKeep(grant: ChildGrant<"photo-set.send">, { uploadId, photoId, takenAt, turns, pieces }: Arriving, last: Buffer, now: number): Promise<Result<null>> {
  const taken = await takeInClip(Buffer.concat([...pieces, last]));
  if (!taken.ok) return taken;
  // As with photos: the phone's word counts as much as the file's own, which comes first.
  const takenBy = taken.value.takenAt ?? (takenAt === null ? null : { at: takenAt, zoneKnown: true });
  return addClip(grant, { uploadId, photoId, turns }, { ...taken.value, takenAt: takenBy }, now);
}

/** Keeps a prepared clip with its photo: the file first, synced, then the rows. Another clip of that photo gives way. The same twice is one. */
export async function addClip(grant: ChildGrant<"photo-set.send">, { uploadId, photoId, turns = 0 }: { readonly uploadId: string; readonly photoId: string; readonly turns?: number }, clip: PreparedClip, now: number): Promise<Result<null>> {
  const media = await mediaStore().put(clip.bytes);
  const left = [media.fileId];
  const added = act({ ...grant, once: null }, "clip.added", now, (tx) => {
    const there = tx.select({ childId: clips.childId, photoId: clips.photoId }).from(clips).where(eq(clips.id, uploadId)).get();
    if (there) return there.childId === grant.childId && there.photoId === photoId ? ok({ objectId: uploadId, value: null }) : refuse("form-invalid");
    const frame = unsentFrame(tx, grant, photoId);
    if (!frame) return refuse("clip-photo-gone");
    const sending = readSending(grant, frame.exerciseKey, now);
    if (!sending.ok) return sending;
    if (!readOfClips(grant, now)) return refuse("clip-consent");
    left.push(...dropClip(tx, grant, photoId));
    const ofChild = { childId: grant.childId, familyId: grant.familyId };
    const { container, codec, durationMs, frames, width, height, mirroredFlag, receivedBytes } = clip;
    const takenAt = instantTaken(clip.takenAt, grant.actor.timeZone);
    tx.insert(clips).values({
      id: uploadId, ...ofChild, photoId, container, codec, durationMs, frames, width, height, mirroredFlag, turns, takenAt, receivedBytes, receivedSha256: clip.sha256, storedAt: now,
    }).run();
    const { fileId, byteLength, sha256, keyId } = media;
    tx.insert(mediaFiles).values({ fileId, ...ofChild, photoId, kind: "clip", width, height, byteLength, sha256, keyId, storedAt: now }).run();
    // A frame says nothing of its own about when it was filmed, or whether the film asks to be shown mirrored.
    const ofFrame = { ...(takenAt === null ? {} : { takenAt }), ...(mirroredFlag ? { mirroredFlag } : {}) };
    if (takenAt !== null || mirroredFlag) tx.update(photos).set(ofFrame).where(and(own(photos, grant), eq(photos.id, photoId))).run();
    return ok({ objectId: uploadId, value: null });
  });
  await eraseUnclaimed(left);
  return added;
}

/** Gives the files that lost their rows, to be erased once that is certain. */
function dropClip(tx: Transaction, ref: ChildRef, photoId: string): readonly string[] {
  const isItsFile = and(own(mediaFiles, ref), eq(mediaFiles.photoId, photoId), eq(mediaFiles.kind, "clip"));
  const files = tx.select({ fileId: mediaFiles.fileId }).from(mediaFiles).where(isItsFile).all();
  tx.delete(mediaFiles).where(isItsFile).run();
  tx.delete(clips).where(and(own(clips, ref), eq(clips.photoId, photoId))).run();
  return files.map(({ fileId }) => fileId);
}

export type SeenClip = {
  readonly container: ClipContainer;
  /** Of the whole clip. */
  readonly byteLength: number;
  readonly sha256: string;
  /** Opens only the frames that the range needs. */
  read(range: ByteRange): Promise<Buffer>;
};

/** The clip of one photo, or null when this person may not see that photo now. A member of staff's view is audited, once however many ranges it takes. */
export async function clipOf(grant: ChildGrant<"photo.view">, photoId: string, now: number): Promise<SeenClip | null> {
  if (readPhotoConsent(grant, now) !== "given") return null;
  const row = database().select({ clipId: clips.id, container: clips.container, fileId: mediaFiles.fileId, byteLength: mediaFiles.byteLength, sha256: mediaFiles.sha256 }).from(clips)
    .innerJoin(mediaFiles, and(eq(mediaFiles.photoId, clips.photoId), eq(mediaFiles.childId, clips.childId), eq(mediaFiles.kind, "clip")))
    .innerJoin(photos, and(eq(photos.id, clips.photoId), eq(photos.childId, clips.childId)))
    .innerJoin(photoSets, and(eq(photoSets.id, photos.photoSetId), eq(photoSets.childId, photos.childId)))
    .where(and(
      own(clips, grant), eq(clips.photoId, photoId), isNull(photos.removedAt), isNull(photoSets.voidedAt),
      // Until it is sent, a clip exists for nobody but its sender.
      or(isNotNull(photoSets.sentAt), eq(photoSets.sentBy, grant.actor.personId)),
    )).get();
  if (!row) return null;
  if (isStaff(grant.actor.role)) recordPlayed(grant, "clip.viewed", row.clipId, now);
  const { container, byteLength, sha256, fileId } = row;
  return { container, byteLength, sha256, read: (range) => mediaStore().read(fileId, range) };
}

export type ClipFacts = { readonly container: ClipContainer; readonly durationMs: number; readonly frames: number; readonly width: number; readonly height: number; readonly turns: number };

const clipsOfPhotos = prepared((db) => db.select({ photoId: clips.photoId, container: clips.container, durationMs: clips.durationMs, frames: clips.frames, width: clips.width, height: clips.height, turns: clips.turns })
  .from(clips).where(and(own(clips, OF_CHILD), among(clips.photoId, "photoIds"))).prepare());

/** Which of these photos are frames of a clip. For lib/records alone: the caller has the grant. */
export const clipsOf = ({ childId, familyId }: ChildRef, photoIds: readonly string[]): ReadonlyMap<string, ClipFacts> =>
  new Map(clipsOfPhotos().all({ childId, familyId, photoIds: JSON.stringify(photoIds) }).map(({ photoId, ...clip }) => [photoId, clip]));
