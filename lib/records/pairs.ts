import "server-only";
import { and, asc, desc, eq, isNotNull, isNull, sql } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { among, OF_CHILD, prepared } from "@/db/prepared";
import { answerPairs, answers, marks, verdicts } from "@/db/schema/answers";
import { setups } from "@/db/schema/care";
import { photoSets, photos } from "@/db/schema/photos";
import type { ChildGrant } from "@/lib/access/grant";
import { PAIRS_LIMIT, spellPair, type PairIds, type PairPhoto } from "@/lib/domain/answering/pair";
import { levelOf } from "@/lib/domain/marks/level";
import type { Mark } from "@/lib/domain/marks/marks";
import { parseMarks } from "@/lib/domain/marks/marks.schema";
import { parseFinding } from "@/lib/domain/photo/side-card.schema";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { own, readPhotoConsent, type ChildRef } from "@/lib/records/child-facts";
import { grouped } from "@/lib/records/grouped";
import { inForce } from "@/lib/records/in-force";
import { cardSaid } from "@/lib/records/side-cards";

export type ComparablePhoto = PairPhoto & {
  readonly photoSetId: string;
  /** Upright pixels of the largest kept picture. */
  readonly width: number;
  readonly height: number;
  readonly sentAt: number;
  /** By its file; null where nothing proves it. */
  readonly takenAt: number | null;
  readonly isAnswered: boolean;
  /** Of a moment: its time in the clip it was taken from. */
  readonly clipMs: number | null;
  /** As in `readingOf`, from the photo's side card. */
  readonly levelDegrees: number | null;
  /** Those of the newest answer in force. */
  readonly marks: readonly Mark[];
};

/** Every photo of this child and exercise that may be looked at now, newest first; none without photo consent. */
export async function comparable(grant: ChildGrant<"answer.write">, exerciseKey: string, now: number): Promise<readonly ComparablePhoto[]> {
  return withSaid(grant, openPhotos(grant, exerciseKey, now), now);
}

/**
 * Sets pairs beside an answer, inside the act that sends it. Refused: `form-invalid` for more than
 * `PAIRS_LIMIT`, one photo with itself, a pair given twice or the later photo called the earlier;
 * `pair-closed` when a photo is not one of this child and exercise that may be looked at.
 */
export function attachPairs(tx: Transaction, ref: ChildRef, answerId: string, pairs: readonly PairIds[], at: number): Result<null> {
  if (pairs.length === 0) return ok(null);
  if (pairs.length > PAIRS_LIMIT || new Set(pairs.map(spellPair)).size !== pairs.length) return refuse("form-invalid", { field: "pair" });
  const open = new Map(openBeside(tx, ref, answerId, at).map((photo) => [photo.photoId, photo]));
  for (const pair of pairs) {
    const [then, now] = [open.get(pair.thenPhotoId), open.get(pair.nowPhotoId)];
    if (!then || !now) return refuse("pair-closed", { field: "pair" });
    if (then === now || then.at > now.at) return refuse("form-invalid", { field: "pair" });
    tx.insert(answerPairs).values({ id: crypto.randomUUID(), childId: ref.childId, familyId: ref.familyId, answerId, ...pair }).run();
  }
  return ok(null);
}

/** Two photos that an answer sets side by side, the earlier one first. */
export type GivenPair = readonly [ComparablePhoto, ComparablePhoto];

const pairsOfAnswers = prepared((db) => db.select({ answerId: answerPairs.answerId, thenPhotoId: answerPairs.thenPhotoId, nowPhotoId: answerPairs.nowPhotoId, exerciseKey: photoSets.exerciseKey }).from(answerPairs)
  .innerJoin(answers, and(eq(answers.id, answerPairs.answerId), eq(answers.childId, answerPairs.childId))).innerJoin(photoSets, eq(photoSets.id, answers.photoSetId))
  .where(and(own(answerPairs, OF_CHILD), among(answerPairs.answerId, "answerIds"))).prepare());

/** The pairs of each of these answers of which both photos may still be looked at, in the order of their time. */
export function pairsOf(grant: ChildGrant<"child.read" | "answer.write">, answerIds: readonly string[], now: number): ReadonlyMap<string, readonly GivenPair[]> {
  const { childId, familyId } = grant;
  const rows = pairsOfAnswers().all({ childId, familyId, answerIds: JSON.stringify(answerIds) });
  const open = new Map([...new Set(rows.map((row) => row.exerciseKey))].map((key) => [key, withSaid(grant, openPhotos(grant, key, now), now)]));
  return new Map([...grouped(rows, (row) => row.answerId)].map(([answerId, of]) => [answerId, of.flatMap((row) => {
    const shown = (photoId: string) => open.get(row.exerciseKey)?.filter((photo) => photo.photoId === photoId) ?? [];
    return shown(row.thenPhotoId).flatMap((earlier) => shown(row.nowPhotoId).map((later) => [earlier, later] as const));
  }).sort((a, b) => a[1].at - b[1].at || a[0].at - b[0].at)]));
}

/** The pairs of one answer as they were given. */
export const pairIdsOf = (grant: ChildGrant<"answer.write">, answerId: string): readonly PairIds[] =>
  database().select({ thenPhotoId: answerPairs.thenPhotoId, nowPhotoId: answerPairs.nowPhotoId }).from(answerPairs)
    .where(and(own(answerPairs, grant), eq(answerPairs.answerId, answerId))).all();

type OpenPhoto = Omit<ComparablePhoto, "isAnswered" | "isStopped" | "marks">;

const photosOfExercise = prepared((db) => db.select({
  photoId: photos.id, photoSetId: photos.photoSetId, view: photos.view, width: photos.width, height: photos.height, isTurnedBack: photos.isTurnedBack, clipMs: photos.clipMs,
  cardReading: photos.cardReading, sentAt: photoSets.sentAt, takenAt: photoSets.takenAt, takenAtSource: photoSets.takenAtSource, sidesKey: setups.sidesKey,
}).from(photos)
  .innerJoin(photoSets, and(eq(photoSets.id, photos.photoSetId), eq(photoSets.childId, photos.childId)))
  .innerJoin(setups, and(eq(setups.id, photoSets.setupId), eq(setups.childId, photoSets.childId)))
  .where(and(own(photos, OF_CHILD), eq(photoSets.exerciseKey, sql.placeholder("exerciseKey")), isNotNull(photoSets.sentAt), isNull(photoSets.voidedAt), isNull(photos.removedAt)))
  .orderBy(desc(photoSets.sentAt), asc(photos.ordinal), asc(photos.clipMs)).prepare());

/** Photos that may be looked at: sent, neither removed nor void, consent standing. Newest first. */
function openPhotos(ref: ChildRef, exerciseKey: string, now: number): readonly OpenPhoto[] {
  if (readPhotoConsent(ref, now) !== "given") return [];
  const { childId, familyId } = ref;
  const rows = photosOfExercise().all({ childId, familyId, exerciseKey });
  return rows.flatMap(({ sentAt, takenAtSource, cardReading, ...row }) => {
    if (sentAt === null) return [];
    // What a parent remembers would date the picture by guess; the day it was sent is known.
    const takenAt = takenAtSource === "file" ? row.takenAt : null;
    return [{ ...row, sentAt, takenAt, at: takenAt ?? sentAt, levelDegrees: levelOf(cardSaid(ref, parseFinding(cardReading))) }];
  });
}

/** The photos of the exercise that an answer is about. */
function openBeside(tx: Transaction, ref: ChildRef, answerId: string, now: number): readonly OpenPhoto[] {
  const answered = tx.select({ exerciseKey: photoSets.exerciseKey }).from(answers).innerJoin(photoSets, eq(photoSets.id, answers.photoSetId))
    .where(and(own(answers, ref), eq(answers.id, answerId))).get();
  return answered ? openPhotos(ref, answered.exerciseKey, now) : [];
}

const answersSaid = prepared((db) => db.select({ id: answers.id, photoSetId: answers.photoSetId }).from(answers).where(and(own(answers, OF_CHILD), inForce(sql.placeholder("now")))).prepare());
const stopsSaid = prepared((db) => db.select({ answerId: verdicts.answerId }).from(verdicts).where(and(own(verdicts, OF_CHILD), eq(verdicts.isStop, true), eq(verdicts.verdict, "fix"))).prepare());
const marksDrawn = prepared((db) => db.select().from(marks).where(own(marks, OF_CHILD)).prepare());

/** With what the answer in force to each photo's set says: answered, judged as a stop, marks drawn. */
function withSaid({ childId, familyId }: ChildRef, some: readonly OpenPhoto[], now: number): readonly ComparablePhoto[] {
  if (some.length === 0) return [];
  const answerTo = new Map(answersSaid().all({ childId, familyId, now }).map((row) => [row.photoSetId, row.id]));
  const stops = new Set(stopsSaid().all({ childId, familyId }).map((row) => row.answerId));
  const drawn = marksDrawn().all({ childId, familyId });
  return some.map((photo) => {
    const answerId = answerTo.get(photo.photoSetId);
    const body = drawn.find((row) => row.answerId === answerId && row.photoId === photo.photoId)?.body;
    return { ...photo, isAnswered: answerId !== undefined, isStopped: stops.has(answerId ?? ""), marks: body === undefined ? [] : stored(body) };
  });
}

function stored(body: string): readonly Mark[] {
  const read = parseMarks(body);
  if (!read.ok) throw new Error("stored marks cannot be read");
  return read.value;
}
