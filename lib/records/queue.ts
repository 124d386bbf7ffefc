import "server-only";
import { and, asc, eq, inArray, isNotNull, isNull } from "drizzle-orm";
import { database } from "@/db/client";
import { answers, drafts } from "@/db/schema/answers";
import { children, families } from "@/db/schema/care";
import { photoSets, photos } from "@/db/schema/photos";
import type { PracticeGrant } from "@/lib/access/grant";
import { isOverdue, queueOrder } from "@/lib/domain/answering/queue-order";
import { patternOf, type Pattern } from "@/lib/domain/curve/record";
import { maybeSamePicture } from "@/lib/domain/photo/perceptual-hash";
import type { SymptomTier } from "@/lib/domain/setup/go-ahead-facts";
import { isOppositeCheck, type SideCheck } from "@/lib/domain/setup/side-check";
import type { Phase } from "@/lib/domain/setup/vocabulary";
import { localDate } from "@/lib/domain/time/local";
import { versionAt } from "@/lib/domain/time/spans";
import { dueAt, workingMsBetween } from "@/lib/domain/time/working-time";
import { readCalendar } from "@/lib/records/calendar";
import { readCarers, type Carer } from "@/lib/records/carers";
import { readFacts, type ChildRef } from "@/lib/records/child-facts";
import { claimOn, type Claim } from "@/lib/records/claims";
import { readOpenSymptoms, type OpenSymptom } from "@/lib/records/clearances";
import { hasUnreadStop } from "@/lib/records/stops";

export const QUEUE_FLAGS = [
  "mirrored", "no-record", "reassessment-due", "setup-changed", "old-photo", "stop-not-read-back", "same-picture", "same-picture-other-child",
] as const;
export type QueueFlag = (typeof QUEUE_FLAGS)[number];

export type QueueRow = ChildRef & {
  /** The photo set's id. */
  readonly id: string;
  readonly childName: string;
  readonly exerciseKey: string;
  readonly phase: Phase;
  /** Null without a current curve record. */
  readonly pattern: Pattern | null;
  /** The most alarming of its photos' checks. */
  readonly sideCheck: SideCheck | null;
  readonly symptom: SymptomTier | null;
  readonly sentAt: number;
  readonly dueAt: number | null;
  readonly isOverdue: boolean;
  /** Working time left, or past due when overdue, ms; and the share of the promise left, 0 to 1. */
  readonly leftMs: number;
  readonly leftShare: number;
  readonly photos: number;
  /** 1 for the first of this child and exercise. */
  readonly nth: number;
  readonly flags: readonly QueueFlag[];
  readonly claim: Claim | null;
  readonly isMine: boolean;
};

export type SymptomRow = ChildRef & { readonly childName: string; readonly reports: readonly OpenSymptom[]; readonly carers: readonly Carer[] };

export type Queue = {
  /** Children with an open symptom stop, urgent first; photos or none. */
  readonly symptoms: readonly SymptomRow[];
  readonly rows: readonly QueueRow[];
  readonly oldestSentAt: number | null;
  readonly overdue: number;
  readonly dueToday: number;
};

/** Everything that waits for an answer in this practice, in the order to answer it. */
export async function queueOf(grant: PracticeGrant<"queue.read">, now: number): Promise<Queue> {
  const symptoms = symptomRows(grant, now);
  const rows = queueOrder(waitingRows(grant, symptoms, now), now);
  const { zone } = readCalendar(grant.practiceId);
  const today = localDate(now, zone);
  return {
    symptoms, rows,
    oldestSentAt: rows.reduce<number | null>((oldest, row) => (oldest === null || row.sentAt < oldest ? row.sentAt : oldest), null),
    overdue: rows.filter((row) => row.isOverdue).length,
    dueToday: rows.filter((row) => row.dueAt !== null && !row.isOverdue && localDate(row.dueAt, zone) === today).length,
  };
}

function symptomRows(grant: PracticeGrant<"queue.read">, now: number): readonly SymptomRow[] {
  const all = database().select({ childId: children.id, familyId: children.familyId, childName: children.givenName }).from(children)
    .innerJoin(families, eq(families.id, children.familyId)).where(eq(families.practiceId, grant.practiceId)).all();
  const open = all.flatMap((child) => {
    const reports = readOpenSymptoms(child);
    return reports.length === 0 ? [] : [{ ...child, reports, carers: readCarers(child) }];
  });
  const asWaiting = open.map((row) => ({
    row, id: row.childId, symptom: row.reports.at(0)?.tier ?? null, sentAt: Math.min(...row.reports.map((each) => each.reportedAt)), dueAt: null,
  }));
  return queueOrder(asWaiting, now).map(({ row }) => row);
}

function waitingRows(grant: PracticeGrant<"queue.read">, symptoms: readonly SymptomRow[], now: number): readonly QueueRow[] {
  const db = database();
  const calendar = readCalendar(grant.practiceId);
  const sent = db.select({
    id: photoSets.id, childId: photoSets.childId, familyId: photoSets.familyId, childName: children.givenName, exerciseKey: photoSets.exerciseKey,
    phase: photoSets.phase, sentAt: photoSets.sentAt, setupId: photoSets.setupId, isOld: photoSets.isOld, answerId: answers.id,
  }).from(photoSets)
    .innerJoin(families, eq(families.id, photoSets.familyId))
    .innerJoin(children, eq(children.id, photoSets.childId))
    .leftJoin(answers, eq(answers.photoSetId, photoSets.id))
    .where(and(eq(families.practiceId, grant.practiceId), isNotNull(photoSets.sentAt), isNull(photoSets.voidedAt)))
    .orderBy(asc(photoSets.sentAt)).all();
  const pictures = picturesOf(sent.map((set) => set.id));
  const mine = new Set(db.select({ id: drafts.photoSetId }).from(drafts).where(eq(drafts.personId, grant.actor.personId)).all().map((row) => row.id));
  return sent.flatMap(({ answerId, isOld, setupId, ...set }) => {
    if (answerId !== null || set.sentAt === null) return [];
    const { record, setup, facts } = readFacts(grant.practiceId, set, set.exerciseKey);
    const own = pictures.filter((picture) => picture.photoSetId === set.id);
    const due = dueAt(calendar, set.sentAt);
    const promiseMs = versionAt(calendar, set.sentAt)?.promiseMs ?? 0;
    const isLate = isOverdue({ ...set, symptom: null, sentAt: set.sentAt, dueAt: due }, now);
    const leftMs = due === null ? 0 : isLate ? workingMsBetween(calendar, due, now) : workingMsBetween(calendar, now, due);
    const claim = db.transaction((tx) => claimOn(tx, set.id, now));
    const others = pictures.filter((picture) => picture.photoSetId !== set.id && own.some((photo) => maybeSamePicture(photo.hash, picture.hash)));
    const flags: Readonly<Record<QueueFlag, boolean>> = {
      mirrored: own.some((photo) => photo.mirroredFlag),
      "no-record": record === null,
      "reassessment-due": facts.record !== null && facts.record.reassessBy !== null && facts.record.reassessBy <= now,
      "setup-changed": setup?.id !== setupId || setup.curveRecordId !== record?.id,
      "old-photo": isOld,
      "stop-not-read-back": hasUnreadStop(grant.practiceId, set),
      "same-picture": others.some((picture) => picture.childId === set.childId),
      "same-picture-other-child": others.some((picture) => picture.childId !== set.childId),
    };
    return [{
      ...set, sentAt: set.sentAt, pattern: record && patternOf(record.record), sideCheck: worstCheck(own.map((photo) => photo.sideCheck)),
      symptom: symptoms.find((row) => row.childId === set.childId)?.reports.at(0)?.tier ?? null,
      dueAt: due, isOverdue: isLate, leftMs, leftShare: isLate || promiseMs === 0 ? 0 : Math.min(1, leftMs / promiseMs),
      photos: own.length, nth: sent.filter((each) => each.childId === set.childId && each.exerciseKey === set.exerciseKey && (each.sentAt ?? 0) <= (set.sentAt ?? 0)).length,
      flags: QUEUE_FLAGS.filter((flag) => flags[flag]), claim, isMine: claim?.personId === grant.actor.personId || mine.has(set.id),
    }];
  });
}

function picturesOf(setIds: readonly string[]) {
  return database().select({
    photoSetId: photos.photoSetId, childId: photos.childId, hash: photos.hash, mirroredFlag: photos.mirroredFlag, sideCheck: photos.sideCheck,
  }).from(photos).where(and(inArray(photos.photoSetId, [...setIds]), isNull(photos.removedAt))).all();
}

/** Anything opposite comes before everything else; the unproven before the proven. */
function worstCheck(checks: readonly (SideCheck | null)[]): SideCheck | null {
  const known = checks.flatMap((check) => check ?? []);
  return known.find((check) => check === "opposite") ?? known.find(isOppositeCheck)
    ?? known.find((check) => check === "looks-right-not-proven") ?? known.find((check) => check === "matches") ?? known.at(0) ?? null;
}
