import "server-only";
import { and, asc, count, desc, eq, isNotNull, isNull, lte, sql } from "drizzle-orm";
import { OF_CHILD, prepared } from "@/db/prepared";
import { answers } from "@/db/schema/answers";
import { setups } from "@/db/schema/care";
import { photoSets, photos, symptomReports } from "@/db/schema/photos";
import { people } from "@/db/schema/practice";
import type { ChildGrant } from "@/lib/access/grant";
import { checklist, type ChecklistRow } from "@/lib/domain/answering/checklist";
import type { CardSaid } from "@/lib/domain/photo/side-card";
import { parseFinding } from "@/lib/domain/photo/side-card.schema";
import { StoredResolution } from "@/lib/domain/setup/exercise.schema";
import type { CoveredResolution } from "@/lib/domain/setup/resolve";
import type { SideCheck } from "@/lib/domain/setup/side-check";
import type { Phase, View } from "@/lib/domain/setup/vocabulary";
import { askedAbout, type BackQuestion } from "@/lib/records/back-question-reads";
import { own, type ChildRef } from "@/lib/records/child-facts";
import { clipsOf, type ClipFacts } from "@/lib/records/clips";
import { newestVersion } from "@/lib/records/in-force";
import { setAsideIn } from "@/lib/records/quarantines";
import { isFamilys, isHeldBy } from "@/lib/records/sent-photos";
import { cardSaid, needsEye } from "@/lib/records/side-cards";
import { voicesOf, type VoiceNote } from "@/lib/records/voice-notes";
import { standingFor, type Standing } from "@/lib/records/standing";

export type SentPhoto = {
  readonly photoId: string;
  readonly ordinal: number;
  readonly view: View;
  readonly width: number;
  readonly height: number;
  readonly sideCheck: SideCheck | null;
  readonly mirroredFlag: boolean;
  /** It came mirror-reversed and what is stored is turned back. */
  readonly isTurnedBack: boolean;
  /** What settles that the stored picture is not mirror-reversed; null while nothing does. */
  readonly mirrorSettledBy: "card" | "staff" | null;
  /** The family hid a part of it. */
  readonly isCovered: boolean;
  readonly card: CardSaid | null;
  /** Another child's card is in it: a therapist must say first that the photo shows this child. */
  readonly needsEye: boolean;
  readonly hash: string;
  /** The movement this photo is a frame of. */
  readonly clip: ClipFacts | null;
};

/** A picture that a therapist took from a clip: to draw on, and nothing else. */
export type Moment = {
  readonly photoId: string;
  /** The photo whose clip it was taken from, and the time in it. */
  readonly momentOf: string;
  readonly clipMs: number;
  readonly by: string;
  readonly view: View;
  readonly width: number;
  readonly height: number;
  readonly isTurnedBack: boolean;
  /** For the level alone. */
  readonly card: CardSaid | null;
  /** An answer that was not taken back holds it. */
  readonly isHeld: boolean;
};

export type SentSet = {
  readonly photoSetId: string;
  readonly exerciseKey: string;
  /** Of the set-up it was sent under. */
  readonly exerciseVersion: number;
  readonly phase: Phase;
  readonly sentAt: number;
  /** Only what a file proves; what a parent remembers lifts no stop. */
  readonly provenAt: number | null;
  readonly takenAt: number | null;
  readonly takenAtSource: "file" | "parent" | "unknown";
  readonly isOld: boolean;
  readonly note: string;
  readonly sentBy: string;
  readonly voidReason: "wrong-child" | "consent-withdrawn" | "erased" | null;
  /** The set-up that the family was shown, confirmed for this child. */
  readonly setupId: string;
  readonly resolution: CoveredResolution;
  readonly sidesKey: string;
  readonly apexSpot: string;
  readonly photos: readonly SentPhoto[];
  /** In the order of the clip's time. */
  readonly moments: readonly Moment[];
  readonly rows: readonly ChecklistRow[];
  /** How many of its photos are out of everybody's sight, and when any were erased. */
  readonly setAside: number;
  readonly photosErasedAt: number | null;
};

const SET = sql.placeholder("photoSetId");
const sentSet = prepared((db) => db.select({ set: photoSets, resolution: setups.resolution, exerciseVersion: setups.exerciseVersion, sidesKey: setups.sidesKey, apexSpot: setups.apexSpot, sentBy: people.name })
  .from(photoSets)
  .innerJoin(setups, and(eq(setups.id, photoSets.setupId), eq(setups.childId, photoSets.childId)))
  .innerJoin(people, eq(people.id, photoSets.sentBy))
  .where(and(own(photoSets, OF_CHILD), eq(photoSets.id, SET), isNotNull(photoSets.sentAt))).prepare());
const photosOfSet = prepared((db) => db.select({
  photoId: photos.id, ordinal: photos.ordinal, view: photos.view, width: photos.width, height: photos.height,
  sideCheck: photos.sideCheck, mirroredFlag: photos.mirroredFlag, isTurnedBack: photos.isTurnedBack, mirrorSettledBy: photos.mirrorSettledBy,
  isCovered: photos.isCovered, cardReading: photos.cardReading, hash: photos.hash,
}).from(photos).where(and(own(photos, OF_CHILD), eq(photos.photoSetId, SET), isNull(photos.removedAt), isFamilys)).orderBy(asc(photos.ordinal)).prepare());
const momentsOfSet = prepared((db) => db.select({
  photoId: photos.id, momentOf: photos.momentOf, clipMs: photos.clipMs, by: people.name, view: photos.view, width: photos.width, height: photos.height,
  isTurnedBack: photos.isTurnedBack, cardReading: photos.cardReading, isHeld: sql<number>`${isHeldBy(isNull(answers.takenBackAt))}`,
}).from(photos).innerJoin(people, eq(people.id, photos.momentBy))
  .where(and(own(photos, OF_CHILD), eq(photos.photoSetId, SET), isNull(photos.removedAt))).orderBy(asc(photos.clipMs), asc(photos.ordinal)).prepare());

/** One sent set of this child, with the set-up it was sent under; null when there is none such. */
export function readSet(ref: ChildRef, photoSetId: string): SentSet | null {
  const { childId, familyId } = ref;
  const row = sentSet().get({ childId, familyId, photoSetId });
  if (!row || row.set.sentAt === null) return null;
  const { set } = row;
  const resolution = StoredResolution.parse(JSON.parse(row.resolution));
  const found = photosOfSet().all({ childId, familyId, photoSetId });
  const moving = clipsOf(ref, found.map(({ photoId }) => photoId));
  const pictures = found.map(({ cardReading, ...photo }) => {
    const card = cardSaid(ref, parseFinding(cardReading));
    return { ...photo, clip: moving.get(photo.photoId) ?? null, card, needsEye: needsEye(ref, photo.photoId, card) };
  });
  return {
    photoSetId, exerciseKey: set.exerciseKey, exerciseVersion: row.exerciseVersion, phase: set.phase, sentAt: row.set.sentAt,
    provenAt: set.takenAtSource === "file" && !set.isOld ? set.takenAt : null,
    takenAt: set.takenAt, takenAtSource: set.takenAtSource, isOld: set.isOld, note: set.note, sentBy: row.sentBy, voidReason: set.voidReason,
    setupId: set.setupId, resolution, sidesKey: row.sidesKey, apexSpot: row.apexSpot, photos: pictures, moments: momentsIn(ref, photoSetId),
    rows: checklist(resolution.items, set.phase, { kind: "photos", views: pictures.map((photo) => photo.view), clipViews: pictures.flatMap(({ clip, view }) => (clip ? [view] : [])) }),
    setAside: setAsideIn(ref, [photoSetId]).get(photoSetId) ?? 0, photosErasedAt: set.photosErasedAt,
  };
}

function momentsIn(ref: ChildRef, photoSetId: string): readonly Moment[] {
  const { childId, familyId } = ref;
  return momentsOfSet().all({ childId, familyId, photoSetId }).flatMap(({ momentOf, clipMs, cardReading, isHeld, ...row }) => (momentOf === null || clipMs === null ? []
    : [{ ...row, momentOf, clipMs, isHeld: isHeld === 1, card: cardSaid(ref, parseFinding(cardReading)) }]));
}

export type LastAnswer = {
  readonly answerId: string; readonly photoSetId: string; readonly version: number; readonly publishedAt: number;
  readonly isMine: boolean; readonly answeredAt: number; readonly by: string; readonly summary: string;
  readonly kind: "answer" | "take-again"; readonly voice: VoiceNote | null;
};

/** Everything the answering desk shows about one photo set. */
export type Desk = {
  readonly set: SentSet;
  readonly standing: Standing;
  /** The set-up changed after this was sent: its verdicts are for the set-up it was sent under. */
  readonly isSetupChanged: boolean;
  readonly nth: number;
  /** The newest version of its answer, published or not yet. */
  readonly answered: LastAnswer | null;
  readonly lastAnswer: LastAnswer | null;
  /** What the family was asked about this set, oldest first. */
  readonly asked: readonly BackQuestion[];
  readonly symptoms: readonly { readonly tier: "urgent" | "today"; readonly symptoms: string; readonly note: string }[];
};

const EXERCISE = sql.placeholder("exerciseKey");
const setsUntil = prepared((db) => db.select({ n: count() }).from(photoSets)
  .where(and(own(photoSets, OF_CHILD), eq(photoSets.exerciseKey, EXERCISE), isNull(photoSets.voidedAt), lte(photoSets.sentAt, sql.placeholder("sentAt")))).prepare());
const newestAnswers = prepared((db) => db.select({
  answerId: answers.id, photoSetId: answers.photoSetId, version: answers.version, publishedAt: answers.publishedAt, answeredAt: answers.answeredAt,
  personId: answers.answeredBy, by: people.name, summary: answers.summary, kind: answers.kind,
}).from(answers).innerJoin(photoSets, eq(photoSets.id, answers.photoSetId)).innerJoin(people, eq(people.id, answers.answeredBy))
  .where(and(own(answers, OF_CHILD), eq(photoSets.exerciseKey, EXERCISE), isNull(photoSets.voidedAt), newestVersion()))
  .orderBy(desc(answers.answeredAt)).prepare());
const reportsWith = prepared((db) => db.select({ tier: symptomReports.tier, symptoms: symptomReports.symptoms, note: symptomReports.note }).from(symptomReports)
  .where(and(own(symptomReports, OF_CHILD), eq(symptomReports.photoSetId, SET))).prepare());

export async function deskOf(grant: ChildGrant<"answer.write">, photoSetId: string, now: number): Promise<Desk | null> {
  const { childId, familyId } = grant;
  const set = readSet(grant, photoSetId);
  if (!set) return null;
  const { exerciseKey, sentAt } = set;
  const standing = standingFor(grant.practiceId, grant, exerciseKey, now);
  const before = setsUntil().get({ childId, familyId, exerciseKey, sentAt });
  const rows = newestAnswers().all({ childId, familyId, exerciseKey });
  const voices = voicesOf(grant, rows.map(({ answerId }) => answerId));
  const answersSoFar = rows.map(({ personId, ...row }) => ({ ...row, isMine: personId === grant.actor.personId, voice: voices.get(row.answerId) ?? null }));
  return {
    set, standing, nth: before?.n ?? 1,
    isSetupChanged: standing.setup?.id !== set.setupId && standing.setup?.sides.key !== set.sidesKey,
    answered: answersSoFar.find((each) => each.photoSetId === photoSetId) ?? null,
    lastAnswer: answersSoFar.find((each) => each.photoSetId !== photoSetId) ?? null,
    asked: askedAbout(grant, photoSetId),
    symptoms: reportsWith().all({ childId, familyId, photoSetId }),
  };
}
