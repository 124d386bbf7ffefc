import "server-only";
import { and, count, desc, eq, gte, isNotNull, isNull, sql, sum } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { answers } from "@/db/schema/answers";
import { families } from "@/db/schema/care";
import { clips } from "@/db/schema/clips";
import { mediaFiles, photoSets, photos } from "@/db/schema/photos";
import { practices } from "@/db/schema/practice";
import { backQuestions } from "@/db/schema/questions";
import type { ChildGrant } from "@/lib/access/grant";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { turnFinding, type CardSaid } from "@/lib/domain/photo/side-card";
import { parseFinding, serialiseFinding } from "@/lib/domain/photo/side-card.schema";
import type { Phase, View } from "@/lib/domain/setup/vocabulary";
import { isDiskLow } from "@/lib/media/space";
import type { PreparedPhoto, PreparedPicture } from "@/lib/photos/prepared";
import { act } from "@/lib/records/act";
import { isOpenQuestion } from "@/lib/records/back-question-reads";
import { own, readPhotoConsent, readSetup, type CurrentSetup } from "@/lib/records/child-facts";
import { isExerciseKey } from "@/lib/records/exercises";
import { inForce } from "@/lib/records/in-force";
import { filesOf, insertPictures, replacePictureRows, storePictures } from "@/lib/records/kept-pictures";
import { eraseUnclaimed, mediaStore } from "@/lib/records/media";
import { isFamilys } from "@/lib/records/sent-photos";
import { cardSaid, settledByCard } from "@/lib/records/side-cards";
import { standingFor } from "@/lib/records/standing";

/** Photos a family may send in a day; more is a broken loop, not a set-up. */
const PHOTOS_A_DAY = 30;
const DAY_MS = 86_400_000;

export type Sending = { readonly setup: CurrentSetup; readonly phase: Phase };

/**
 * Whether this family may send a photo for this child and exercise now, and for what: consent given,
 * a set-up confirmed and unchanged, and room for it. Asked before the first byte is read.
 */
export async function maySend(grant: ChildGrant<"photo-set.send">, exerciseKey: string, now: number): Promise<Result<Sending>> {
  const sending = readSending(grant, exerciseKey, now);
  if (!sending.ok) return sending;
  if (isDiskLow()) return refuse("disk-full");
  return isFamilyFull(grant) ? refuse("family-storage") : sending;
}

/** By what is kept of the whole family, spoken notes included; these are never refused for it. */
function isFamilyFull({ practiceId, familyId }: ChildGrant<"photo-set.send">): boolean {
  const db = database();
  const kept = db.select({ bytes: sum(mediaFiles.byteLength).mapWith(Number) }).from(mediaFiles).where(eq(mediaFiles.familyId, familyId)).get()?.bytes ?? 0;
  const most = db.select({ megabytes: practices.familyMegabytes }).from(practices).where(eq(practices.id, practiceId)).get()?.megabytes ?? 0;
  return kept >= most * 1e6;
}

/** The same question, but for the room, inside an act: what is kept already is finished on a full disk too. For lib/records alone. */
export function readSending(grant: ChildGrant<"photo-set.send">, exerciseKey: string, now: number): Result<Sending> {
  const consent = readPhotoConsent(grant, now);
  if (consent !== "given") return refuse(consent === "withdrawn" ? "consent-withdrawn" : "consent-missing");
  const setup = isExerciseKey(grant.practiceId, exerciseKey) ? readSetup(grant, exerciseKey) : null;
  if (!setup) return refuse("setup-not-confirmed");
  const standing = standingFor(grant.practiceId, grant, exerciseKey, now);
  if (standing.record?.id !== setup.curveRecordId) return refuse("record-changed");
  if (!standing.current.isOpen) return refuse("phase-not-open");
  return ok({ setup, phase: standing.current.phase });
}

export type PhotoPlace = {
  /** Made in the browser; one set of photos, however often it is retried. */
  readonly setId: string;
  readonly exerciseKey: string;
  readonly ordinal: 1 | 2 | 3 | 4;
  readonly view: View;
};

/** What the phone did to a photo before it sent it; the original's bytes are null when it came as it was. */
export type DoneOnPhone = { readonly originalBytes: number | null; readonly isCovered: boolean };

export type StoredPhoto = {
  readonly photoId: string;
  readonly width: number;
  readonly height: number;
  readonly sharpness: number;
  readonly exposure: { readonly mean: number; readonly darkShare: number; readonly lightShare: number };
  readonly takenAt: number | null;
  readonly mirroredFlag: boolean;
  /** It came mirror-reversed, as its side card shows, and what is stored is turned back. */
  readonly isTurnedBack: boolean;
  /** What is stored is known not to be mirror-reversed. */
  readonly isMirrorSettled: boolean;
  readonly card: CardSaid | null;
  readonly receivedBytes: number;
  readonly sha256: string;
};

/**
 * Stores one prepared photo in its place: files first, synced, then the rows. A photo already there
 * gives way. `takenAt` is epoch ms by the caller's reading of the file's clock, or null.
 */
export async function addPhoto(
  grant: ChildGrant<"photo-set.send">,
  place: PhotoPlace,
  prepared: PreparedPhoto,
  takenAt: number | null,
  now: number,
  onPhone: DoneOnPhone = { originalBytes: null, isCovered: false },
): Promise<Result<StoredPhoto>> {
  const sending = await maySend(grant, place.exerciseKey, now);
  if (!sending.ok) return sending;
  const stored = await storePictures(prepared);
  const photoId = crypto.randomUUID();
  const added = act(grant, "photo.added", now, (tx) => {
    const opened = openSet(tx, grant, place, sending.value, now);
    if (!opened.ok) return opened;
    if (photosToday(tx, grant, now) >= PHOTOS_A_DAY) return refuse("photo-limit-day", { values: { max: PHOTOS_A_DAY } });
    tx.update(photos).set({ removedAt: now }).where(and(
      own(photos, grant), eq(photos.photoSetId, place.setId), eq(photos.ordinal, place.ordinal), isNull(photos.removedAt),
    )).run();
    const { exposure, hash, sharpness } = prepared.measures;
    const settled = settledByCard(prepared.card);
    const [largest] = prepared.sizes;
    tx.insert(photos).values({
      id: photoId, childId: grant.childId, familyId: grant.familyId, photoSetId: place.setId, ordinal: place.ordinal,
      view: place.view, width: largest.width, height: largest.height, placeholder: prepared.placeholder.bytes.toString("base64"),
      sharpness, exposureMean: exposure.mean, exposureDarkShare: exposure.darkShare, exposureLightShare: exposure.lightShare,
      hash, mirroredFlag: prepared.mirroredFlag, ...settled, takenAt, receivedBytes: prepared.receivedBytes,
      ...onPhone, receivedSha256: prepared.sha256, storedAt: now,
    }).run();
    insertPictures(tx, grant, photoId, stored, now);
    const value: StoredPhoto = {
      photoId, width: largest.width, height: largest.height, sharpness, exposure, takenAt,
      mirroredFlag: prepared.mirroredFlag, isTurnedBack: settled.isTurnedBack, isMirrorSettled: settled.mirrorSettledBy !== null,
      card: cardSaid(grant, prepared.card), receivedBytes: prepared.receivedBytes, sha256: prepared.sha256,
    };
    return ok({ objectId: photoId, value });
  });
  await eraseUnclaimed(stored.map(({ media }) => media.fileId));
  return added;
}

/** The unsent set under this key, made if it is new. Another person's or another child's key is no key. */
function openSet(tx: Transaction, grant: ChildGrant<"photo-set.send">, place: PhotoPlace, sending: Sending, now: number): Result<null> {
  const there = tx.select().from(photoSets).where(eq(photoSets.id, place.setId)).get();
  if (!there) {
    tx.insert(photoSets).values({
      id: place.setId, childId: grant.childId, familyId: grant.familyId, exerciseKey: place.exerciseKey,
      phase: sending.phase, setupId: sending.setup.id, sentBy: grant.actor.personId, startedAt: now,
    }).run();
    return ok(null);
  }
  const isOwn = there.childId === grant.childId && there.sentBy === grant.actor.personId && there.exerciseKey === place.exerciseKey;
  if (!isOwn) return refuse("form-invalid");
  if (there.sentAt !== null || there.voidedAt !== null) return refuse("set-finished");
  return ok(null);
}

function photosToday(tx: Transaction, grant: ChildGrant<"photo-set.send">, now: number): number {
  return tx.select({ n: count() }).from(photos)
    .where(and(eq(photos.familyId, grant.familyId), isFamilys, gte(photos.storedAt, now - DAY_MS))).get()?.n ?? 0;
}

export type TurnedPhoto = { readonly width: number; readonly height: number; readonly card: CardSaid | null };

/** A photo turned by hand, quarter turns clockwise: the pictures made again take the place of the old ones. */
export async function replacePictures(
  grant: ChildGrant<"photo-set.send">,
  photoId: string,
  turned: PreparedPicture,
  quarterTurns: 1 | 2 | 3,
  now: number,
): Promise<Result<TurnedPhoto>> {
  const stored = await storePictures(turned);
  const [largest] = turned.sizes;
  const before = filesOf(grant, photoId);
  const replaced = act(grant, "photo.turned", now, (tx) => {
    const photo = unsentPhoto(tx, grant, photoId);
    if (!photo) return refuse("set-finished");
    replacePictureRows(tx, grant, photoId, stored, now);
    // Its clip is shown turned alike. Turning a picture and then flipping it is flipping it and then turning it the other way.
    const by = photo.isTurnedBack ? 4 - quarterTurns : quarterTurns;
    tx.update(clips).set({ turns: sql`(${clips.turns} + ${by}) % 4` }).where(and(own(clips, grant), eq(clips.photoId, photoId))).run();
    const found = parseFinding(photo.cardReading);
    const card = found && turnFinding(found, quarterTurns);
    tx.update(photos).set({
      width: largest.width, height: largest.height, hash: turned.measures.hash, cardReading: card && serialiseFinding(card),
      placeholder: turned.placeholder.bytes.toString("base64"), headX: null, headY: null, facing: null, sideCheck: null,
    }).where(and(own(photos, grant), eq(photos.id, photoId))).run();
    return ok({ objectId: photoId, value: { width: largest.width, height: largest.height, card: cardSaid(grant, card) } });
  });
  await eraseUnclaimed([...before, ...stored.map(({ media }) => media.fileId)]);
  return replaced;
}

/** The largest kept picture of a photo this person has not sent yet; null when there is none such. */
export async function unsentPicture(grant: ChildGrant<"photo-set.send">, photoId: string): Promise<Buffer | null> {
  const row = database().transaction((tx) => unsentPhoto(tx, grant, photoId) && tx.select({ fileId: mediaFiles.fileId }).from(mediaFiles)
    .where(and(own(mediaFiles, grant), eq(mediaFiles.photoId, photoId), eq(mediaFiles.kind, "2048"))).get());
  return row ? mediaStore().read(row.fileId) : null;
}

function unsentPhoto(tx: Transaction, grant: ChildGrant<"photo-set.send">, photoId: string) {
  return tx.select({ id: photos.id, cardReading: photos.cardReading, isTurnedBack: photos.isTurnedBack }).from(photos).innerJoin(photoSets, eq(photoSets.id, photos.photoSetId)).where(and(
    own(photos, grant), eq(photos.id, photoId), isNull(photos.removedAt), isNull(photoSets.sentAt),
    eq(photoSets.sentBy, grant.actor.personId),
  )).get();
}

export type PhotoSetSummary = {
  readonly photoSetId: string;
  readonly exerciseKey: string;
  readonly phase: Phase;
  readonly sentAt: number;
  readonly answeredAt: number | null;
  readonly answerKind: "answer" | "take-again" | null;
  /** Its family was asked something about it and has not answered. */
  readonly isOnFamily: boolean;
  readonly voidReason: "wrong-child" | "consent-withdrawn" | "erased" | null;
};

/** What was sent for one child, newest first, without the pictures themselves. */
export async function photoSetsOf(grant: ChildGrant<"child.read">, exerciseKey: string, now: number): Promise<readonly PhotoSetSummary[]> {
  const rows = database().select({
    photoSetId: photoSets.id, exerciseKey: photoSets.exerciseKey, phase: photoSets.phase, sentAt: photoSets.sentAt,
    answeredAt: answers.answeredAt, answerKind: answers.kind, voidReason: photoSets.voidReason, openId: backQuestions.id,
  }).from(photoSets).leftJoin(answers, and(eq(answers.photoSetId, photoSets.id), inForce(now)))
    .leftJoin(backQuestions, and(eq(backQuestions.photoSetId, photoSets.id), isOpenQuestion()))
    .innerJoin(families, eq(families.id, photoSets.familyId))
    .where(and(own(photoSets, grant), eq(photoSets.exerciseKey, exerciseKey), isNotNull(photoSets.sentAt)))
    .orderBy(desc(photoSets.sentAt)).all();
  return rows.flatMap(({ openId, sentAt, ...row }) => (sentAt === null ? [] : [{ ...row, sentAt, isOnFamily: openId !== null }]));
}
