import "server-only";
import { and, asc, count, eq, isNotNull, isNull, lte, sql } from "drizzle-orm";
import { database } from "@/db/client";
import { answers, drafts } from "@/db/schema/answers";
import { children, families, setups } from "@/db/schema/care";
import { photoSets, photos } from "@/db/schema/photos";
import type { PracticeGrant } from "@/lib/access/grant";
import { isWaiting, pausesOf } from "@/lib/domain/answering/back-question";
import { dueClock, type DueClock } from "@/lib/domain/answering/due-clock";
import { queueOrder } from "@/lib/domain/answering/queue-order";
import { patternOf, type Pattern } from "@/lib/domain/curve/record";
import { parseFinding } from "@/lib/domain/photo/side-card.schema";
import { maybeSamePicture } from "@/lib/domain/photo/perceptual-hash";
import type { SymptomTier } from "@/lib/domain/setup/go-ahead-facts";
import { isOppositeCheck, type SideCheck } from "@/lib/domain/setup/side-check";
import type { Phase } from "@/lib/domain/setup/vocabulary";
import { localDate } from "@/lib/domain/time/local";
import { askedAbout, type BackQuestion } from "@/lib/records/back-question-reads";
import { readCalendar } from "@/lib/records/calendar";
import { readCarers, type Carer } from "@/lib/records/carers";
import { readFacts, type ChildRef } from "@/lib/records/child-facts";
import { claimOn, type Claim } from "@/lib/records/claims";
import { readOpenSymptoms, type OpenSymptom } from "@/lib/records/clearances";
import { exerciseWords } from "@/lib/records/exercise-names";
import { firstAnswer } from "@/lib/records/in-force";
import { readOpenQuestions } from "@/lib/records/questions";
import { REMINDERS, remindedToday } from "@/lib/records/reminded-today";
import { cardSaid, needsEye } from "@/lib/records/side-cards";
import { hasUnreadStop } from "@/lib/records/stops";

export const QUEUE_FLAGS = [
  "mirrored", "turned-back", "card-other-child", "no-record", "reassessment-due", "setup-changed", "old-photo", "stop-not-read-back", "same-picture", "same-picture-other-child",
] as const;
export type QueueFlag = (typeof QUEUE_FLAGS)[number];

/** What every row says, whatever waits. `sentAt` is when its clock started. */
type Row = ChildRef & DueClock & {
  readonly id: string;
  readonly childName: string;
  readonly exerciseTitle: string;
  readonly symptom: SymptomTier | null;
  readonly sentAt: number;
  /** Claimed by whoever reads, or with a draft of theirs. */
  readonly isMine: boolean;
};

export type QuestionRow = Row & { readonly kind: "question"; readonly words: string };

export type SetRow = Row & {
  readonly kind: "photo-set";
  readonly exerciseKey: string;
  readonly phase: Phase;
  /** Null without a current curve record. */
  readonly pattern: Pattern | null;
  /** The most alarming of its photos' checks. */
  readonly sideCheck: SideCheck | null;
  readonly photos: number;
  /** 1 for the first of this child and exercise. */
  readonly nth: number;
  readonly flags: readonly QueueFlag[];
  readonly claim: (Claim & { readonly isMine: boolean }) | null;
  /** What its family was asked about it, oldest first. */
  readonly asked: readonly BackQuestion[];
};

/** Whom a reminder would go to, and whether all of them had one today. */
export type OnFamilyRow = SetRow & { readonly openQuestionId: string; readonly isReminded: boolean };

/** A photo set by its id, or a question by its own. */
export type QueueRow = SetRow | QuestionRow;

/** Its clock is that of the flag that is due first. */
export type SymptomRow = ChildRef & DueClock & { readonly childName: string; readonly reports: readonly OpenSymptom[]; readonly carers: readonly Carer[] };

export type Queue = {
  /** Children with an open symptom stop, urgent first; photos or none. */
  readonly symptoms: readonly SymptomRow[];
  readonly rows: readonly QueueRow[];
  /** Photo sets whose family was asked something and has not answered: their clock stands still. Longest first. */
  readonly onFamily: readonly OnFamilyRow[];
  readonly oldestSentAt: number | null;
  readonly overdue: number;
  readonly dueToday: number;
};

/** Everything that waits for an answer in this practice, in the order to answer it. */
export async function queueOf(grant: PracticeGrant<"queue.read">, now: number): Promise<Queue> {
  const symptoms = symptomRows(grant, now);
  const sets = waitingRows(grant, symptoms, now);
  const rows = queueOrder<QueueRow>([...sets.filter((row) => sinceAsked(row) === null), ...questionRows(grant, symptoms, now)], now);
  const { zone } = readCalendar(grant.practiceId);
  const today = localDate(now, zone);
  return {
    symptoms, rows, onFamily: familyRows(grant.practiceId, sets, now),
    oldestSentAt: rows.reduce<number | null>((oldest, row) => (oldest === null || row.sentAt < oldest ? row.sentAt : oldest), null),
    overdue: rows.filter((row) => row.isOverdue).length,
    dueToday: rows.filter((row) => row.dueAt !== null && !row.isOverdue && localDate(row.dueAt, zone) === today).length,
  };
}

function familyRows(practiceId: string, sets: readonly SetRow[], now: number): readonly OnFamilyRow[] {
  const before = remindedToday(database(), practiceId, REMINDERS, now);
  return sets.toSorted((a, b) => (sinceAsked(a) ?? 0) - (sinceAsked(b) ?? 0)).flatMap((row) => {
    const open = row.asked.find(isWaiting);
    return open ? [{ ...row, openQuestionId: open.backQuestionId, isReminded: readCarers(row, now).every(({ personId }) => before.has(personId)) }] : [];
  });
}

/** Since when the practice waits on this photo set's family; null while it does not. */
const sinceAsked = ({ asked }: SetRow): number | null => asked.find(isWaiting)?.askedAt ?? null;

function symptomRows(grant: PracticeGrant<"queue.read">, now: number): readonly SymptomRow[] {
  const all = database().select({ childId: children.id, familyId: children.familyId, childName: children.givenName }).from(children)
    .innerJoin(families, eq(families.id, children.familyId)).where(eq(families.practiceId, grant.practiceId)).all();
  const calendar = readCalendar(grant.practiceId);
  const open = all.flatMap((child) => {
    const reports = readOpenSymptoms(child);
    const [first] = reports.map((report) => dueClock(calendar, "symptom", report.reportedAt, now)).toSorted((a, b) => (a.dueAt ?? Infinity) - (b.dueAt ?? Infinity));
    return first ? [{ ...child, ...first, reports, carers: readCarers(child, now) }] : [];
  });
  const asWaiting = open.map((row) => ({
    row, id: row.childId, symptom: row.reports.at(0)?.tier ?? null, sentAt: Math.min(...row.reports.map((each) => each.reportedAt)), dueAt: row.dueAt,
  }));
  return queueOrder(asWaiting, now).map(({ row }) => row);
}

function waitingRows(grant: PracticeGrant<"queue.read">, symptoms: readonly SymptomRow[], now: number): readonly SetRow[] {
  const db = database();
  const calendar = readCalendar(grant.practiceId);
  const sent = db.select({
    id: photoSets.id, childId: photoSets.childId, familyId: photoSets.familyId, childName: children.givenName, exerciseKey: photoSets.exerciseKey,
    phase: photoSets.phase, sentAt: sql<number>`${photoSets.sentAt}`, setupId: photoSets.setupId, exerciseVersion: setups.exerciseVersion, isOld: photoSets.isOld,
  }).from(photoSets)
    .innerJoin(families, eq(families.id, photoSets.familyId))
    .innerJoin(children, eq(children.id, photoSets.childId))
    .innerJoin(setups, and(eq(setups.id, photoSets.setupId), eq(setups.childId, photoSets.childId)))
    .leftJoin(answers, and(eq(answers.photoSetId, photoSets.id), firstAnswer()))
    .where(and(eq(families.practiceId, grant.practiceId), isNotNull(photoSets.sentAt), isNull(photoSets.voidedAt), isNull(answers.id)))
    .orderBy(asc(photoSets.sentAt)).all();
  const pictures = sent.length === 0 ? [] : picturesOf(grant.practiceId);
  const mine = new Set(db.select({ id: drafts.photoSetId }).from(drafts).where(and(eq(drafts.personId, grant.actor.personId), isNull(drafts.sentAt))).all().map((row) => row.id));
  return sent.flatMap(({ isOld, setupId, exerciseVersion, ...set }) => {
    const { record, setup, facts } = readFacts(grant.practiceId, set, set.exerciseKey, now);
    // Without consent its pictures are closed and nothing may be answered: it waits for nobody.
    if (facts.photoConsent !== "given") return [];
    const own = pictures.filter((picture) => picture.photoSetId === set.id);
    const claimed = db.transaction((tx) => claimOn(tx, set.id, now));
    const claim = claimed && { ...claimed, isMine: claimed.personId === grant.actor.personId };
    const asked = askedAbout(set, set.id);
    const others = pictures.filter((picture) => picture.photoSetId !== set.id && own.some((photo) => maybeSamePicture(photo.hash, picture.hash)));
    const flags: Readonly<Record<QueueFlag, boolean>> = {
      mirrored: own.some((photo) => photo.mirroredFlag && photo.settledBy === null),
      "turned-back": own.some((photo) => photo.isTurnedBack),
      "card-other-child": db.transaction((tx) => own.some((photo) => needsEye(tx, set, photo.photoId, cardSaid(tx, set, parseFinding(photo.cardReading))))),
      "no-record": record === null,
      "reassessment-due": facts.record !== null && facts.record.reassessBy !== null && facts.record.reassessBy <= now,
      "setup-changed": setup?.id !== setupId || setup.curveRecordId !== record?.id,
      "old-photo": isOld,
      "stop-not-read-back": hasUnreadStop(grant.practiceId, set, now),
      "same-picture": others.some((picture) => picture.childId === set.childId),
      "same-picture-other-child": others.some((picture) => picture.childId !== set.childId),
    };
    return [{
      ...set, ...dueClock(calendar, "photo-set", set.sentAt, now, pausesOf(asked, null)), asked, kind: "photo-set" as const, exerciseTitle: exerciseWords(grant.practiceId, set.exerciseKey, exerciseVersion).title, pattern: record && patternOf(record.record), sideCheck: worstCheck(own.map((photo) => photo.sideCheck)),
      symptom: tierOf(symptoms, set.childId),
      photos: own.length, nth: sentBy(set),
      flags: QUEUE_FLAGS.filter((flag) => flags[flag]), claim, isMine: claim?.isMine === true || mine.has(set.id),
    }];
  });
}

/** How many photo sets of its child and exercise were sent up to this one. */
function sentBy({ childId, familyId, exerciseKey, sentAt }: ChildRef & { readonly exerciseKey: string; readonly sentAt: number }): number {
  return database().select({ sets: count() }).from(photoSets)
    .where(and(eq(photoSets.childId, childId), eq(photoSets.familyId, familyId), eq(photoSets.exerciseKey, exerciseKey), lte(photoSets.sentAt, sentAt), isNull(photoSets.voidedAt))).get()?.sets ?? 0;
}

function questionRows(grant: PracticeGrant<"queue.read">, symptoms: readonly SymptomRow[], now: number): readonly QuestionRow[] {
  const calendar = readCalendar(grant.practiceId);
  return readOpenQuestions(grant.practiceId).map(({ askedAt, exerciseKey, exerciseVersion, ...question }) => ({
    ...question, ...dueClock(calendar, "question", askedAt, now), kind: "question", sentAt: askedAt, isMine: false, symptom: tierOf(symptoms, question.childId),
    exerciseTitle: exerciseWords(grant.practiceId, exerciseKey, exerciseVersion).title,
  }));
}

const tierOf = (symptoms: readonly SymptomRow[], childId: string): SymptomTier | null =>
  symptoms.find((row) => row.childId === childId)?.reports.at(0)?.tier ?? null;

/** Of every photo set that was sent and still counts, answered or not: a picture may be that of an earlier one. */
function picturesOf(practiceId: string) {
  return database().select({
    photoId: photos.id, photoSetId: photos.photoSetId, childId: photos.childId, isTurnedBack: photos.isTurnedBack,
    settledBy: photos.mirrorSettledBy, cardReading: photos.cardReading, hash: photos.hash, mirroredFlag: photos.mirroredFlag, sideCheck: photos.sideCheck,
  }).from(photos).innerJoin(families, eq(families.id, photos.familyId)).innerJoin(photoSets, and(eq(photoSets.id, photos.photoSetId), eq(photoSets.childId, photos.childId)))
    .where(and(eq(families.practiceId, practiceId), isNull(photos.removedAt), isNotNull(photoSets.sentAt), isNull(photoSets.voidedAt))).all();
}

/** Anything opposite comes before everything else; the unproven before the proven. */
function worstCheck(checks: readonly (SideCheck | null)[]): SideCheck | null {
  const known = checks.flatMap((check) => check ?? []);
  return known.find((check) => check === "opposite") ?? known.find(isOppositeCheck)
    ?? known.find((check) => check === "looks-right-not-proven") ?? known.find((check) => check === "matches") ?? known.at(0) ?? null;
}
