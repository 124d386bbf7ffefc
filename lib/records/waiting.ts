import "server-only";
import { and, eq, gt, isNull, sql } from "drizzle-orm";
import { prepared } from "@/db/prepared";
import { claims, drafts } from "@/db/schema/answers";
import { children, families } from "@/db/schema/care";
import { photoSets, waitingSets } from "@/db/schema/photos";
import { backQuestions } from "@/db/schema/questions";
import type { PracticeGrant } from "@/lib/access/grant";
import { isWaiting, pausesOf } from "@/lib/domain/answering/back-question";
import { dueClock, type DueClock } from "@/lib/domain/answering/due-clock";
import { queueOrder } from "@/lib/domain/answering/queue-order";
import type { SymptomTier } from "@/lib/domain/setup/go-ahead-facts";
import type { Phase } from "@/lib/domain/setup/vocabulary";
import type { AskedTimes } from "@/lib/records/back-question-reads";
import { readCalendar } from "@/lib/records/calendar";
import { readCarers, type Carer } from "@/lib/records/carers";
import type { ChildRef } from "@/lib/records/child-facts";
import { readOpenSymptomsOf, type OpenSymptom } from "@/lib/records/clearances";
import { readConsenting } from "@/lib/records/consent-in-force";
import { grouped } from "@/lib/records/grouped";
import { readOpenQuestions } from "@/lib/records/questions";

/** What every row says, whatever waits, and all that its place rests on. `sentAt` is when its clock started. */
export type Waits = ChildRef & DueClock & {
  readonly id: string;
  readonly childName: string;
  readonly symptom: SymptomTier | null;
  readonly sentAt: number;
  readonly exerciseKey: string;
  /** Claimed by whoever reads, or with a draft of theirs. */
  readonly isMine: boolean;
};
export type WaitingQuestion = Waits & { readonly kind: "question"; readonly words: string; readonly exerciseVersion: number };
export type WaitingSet = Waits & { readonly kind: "photo-set"; readonly phase: Phase; readonly setupId: string; readonly isOld: boolean; readonly wasAsked: boolean };

/** Its clock is that of the flag that is due first. */
export type SymptomRow = ChildRef & DueClock & { readonly childName: string; readonly reports: readonly OpenSymptom[]; readonly carers: readonly Carer[] };

export type Waiting = {
  /** Children with an open symptom stop, urgent first; photos or none. */
  readonly symptoms: readonly SymptomRow[];
  /** In the order to answer them. */
  readonly rows: readonly (WaitingSet | WaitingQuestion)[];
  /** Photo sets whose family was asked something and has not answered: their clock stands still. Longest first. */
  readonly onFamily: readonly WaitingSet[];
};

/** Everything that waits in this practice, in a fixed number of statements. For lib/records alone. */
export function readWaiting({ practiceId, actor }: PracticeGrant<"queue.read">, now: number): Waiting {
  const symptoms = readSymptoms(practiceId, now);
  const tiers = new Map(symptoms.map(({ childId, reports }) => [childId, reports.at(0)?.tier ?? null]));
  const sets = readSets(practiceId, actor.personId, tiers, now);
  return {
    symptoms, rows: queueOrder<WaitingSet | WaitingQuestion>([...sets.filter(({ askedAt }) => askedAt === null).map(({ askedAt: _askedAt, ...set }) => set), ...readQuestions(practiceId, tiers, now)], now),
    onFamily: sets.filter(({ askedAt }) => askedAt !== null).toSorted((a, b) => (a.askedAt ?? 0) - (b.askedAt ?? 0)).map(({ askedAt: _askedAt, ...set }) => set),
  };
}

type Tiers = ReadonlyMap<string, SymptomTier | null>;

function readSymptoms(practiceId: string, now: number): readonly SymptomRow[] {
  const calendar = readCalendar(practiceId);
  const open = readOpenSymptomsOf(practiceId).flatMap((child) => {
    const [first] = child.reports.map((report) => dueClock(calendar, "symptom", report.reportedAt, now)).toSorted((a, b) => (a.dueAt ?? Infinity) - (b.dueAt ?? Infinity));
    return first ? [{ ...child, ...first, carers: readCarers(child, now) }] : [];
  });
  const asWaiting = open.map((row) => ({
    row, id: row.childId, symptom: row.reports.at(0)?.tier ?? null, sentAt: Math.min(...row.reports.map((each) => each.reportedAt)), dueAt: row.dueAt,
  }));
  return queueOrder(asWaiting, now).map(({ row }) => row);
}

const PERSON = sql.placeholder("personId");
const setsWaiting = prepared((db) => db.select({
  id: photoSets.id, childId: photoSets.childId, familyId: photoSets.familyId, childName: children.givenName, exerciseKey: photoSets.exerciseKey,
  phase: photoSets.phase, sentAt: sql<number>`${photoSets.sentAt}`, setupId: photoSets.setupId, isOld: photoSets.isOld,
}).from(waitingSets)
  // In this order: a cross join is what SQLite never turns around.
  .crossJoin(photoSets).innerJoin(families, eq(families.id, photoSets.familyId))
  .innerJoin(children, eq(children.id, photoSets.childId))
  .where(and(eq(photoSets.id, waitingSets.photoSetId), eq(families.practiceId, sql.placeholder("practiceId")))).prepare());
const draftsOf = prepared((db) => db.select({ id: drafts.photoSetId }).from(drafts).where(and(eq(drafts.personId, PERSON), isNull(drafts.sentAt))).prepare());
const claimsOf = prepared((db) => db.select({ id: claims.photoSetId }).from(claims).where(and(eq(claims.personId, PERSON), gt(claims.lapsesAt, sql.placeholder("now")))).prepare());

/** `askedAt`: since when the practice waits on its family; null while it does not. */
function readSets(practiceId: string, personId: string, tiers: Tiers, now: number): readonly (WaitingSet & { readonly askedAt: number | null })[] {
  const calendar = readCalendar(practiceId);
  const sent = setsWaiting().all({ practiceId });
  // Without consent its pictures are closed and nothing may be answered: it waits for nobody.
  const consenting = readConsenting([...new Set(sent.map(({ childId }) => childId))], now);
  const asked = readAsked();
  const mine = new Set([...draftsOf().all({ personId }), ...claimsOf().all({ personId, now })].map(({ id }) => id));
  return sent.filter(({ childId }) => consenting.has(childId)).map((set) => {
    const times = asked.get(set.id) ?? [];
    return {
      ...set, kind: "photo-set", ...dueClock(calendar, "photo-set", set.sentAt, now, pausesOf(times, null)), symptom: tiers.get(set.childId) ?? null,
      isMine: mine.has(set.id), wasAsked: times.length > 0, askedAt: times.find(isWaiting)?.askedAt ?? null,
    };
  });
}

const askedOfWaiting = prepared((db) => db.select({ photoSetId: backQuestions.photoSetId, askedAt: backQuestions.askedAt, repliedAt: backQuestions.repliedAt, withdrawnAt: backQuestions.withdrawnAt, newPhotoAt: backQuestions.newPhotoAt })
  .from(waitingSets).crossJoin(photoSets).crossJoin(backQuestions)
  .where(and(eq(photoSets.id, waitingSets.photoSetId), eq(backQuestions.childId, photoSets.childId), eq(backQuestions.photoSetId, photoSets.id)))
  .orderBy(backQuestions.askedAt, backQuestions.id).prepare());

/** When each photo set that waits for an answer waited on its family, oldest first. */
export const readAsked = (): AskedTimes => grouped(askedOfWaiting().all(), ({ photoSetId }) => photoSetId);

function readQuestions(practiceId: string, tiers: Tiers, now: number): readonly WaitingQuestion[] {
  const calendar = readCalendar(practiceId);
  return readOpenQuestions(practiceId).map(({ askedAt, ...question }) => ({
    ...question, ...dueClock(calendar, "question", askedAt, now), kind: "question", sentAt: askedAt, isMine: false, symptom: tiers.get(question.childId) ?? null,
  }));
}
