import "server-only";
import { and, asc, eq, notInArray, sql } from "drizzle-orm";
import { database } from "@/db/client";
import { answers } from "@/db/schema/answers";
import { families } from "@/db/schema/care";
import { photoSets, symptomClearances, symptomReports } from "@/db/schema/photos";
import { questions, replies } from "@/db/schema/questions";
import { answerFigures, type AnswerFigures } from "@/lib/domain/stats/answer-figures";
import { localDate } from "@/lib/domain/time/local";
import { clockTable, type ClockTable } from "@/lib/domain/time/clock-table";
import type { CalendarHistory, Promised } from "@/lib/domain/time/working-week";

/** One kind's answer times by its own promise. `oldest` is the one that waits longest; instants are UTC ms. */
export type KindTimes = {
  readonly waiting: number;
  readonly oldest: { readonly since: number; readonly dueAt: number | null; readonly workingMs: number } | null;
  readonly overdue: number;
  readonly dueToday: number;
  readonly figures: AnswerFigures;
};

/** Questions and symptom flags, each on a clock of its own and in no curve of photo sets. For lib/records alone: the caller has the grant. */
export function readKindTimes(practiceId: string, calendar: CalendarHistory, now: number): Readonly<Record<Exclude<Promised, "photo-set">, KindTimes>> {
  const [questioned, flags] = [asked(practiceId), flagged(practiceId)];
  const table = clockTable(calendar, Math.min(questioned[0]?.since ?? now, flags[0]?.since ?? now), now);
  return { question: timesOf("question", questioned, table, calendar.zone, now), symptom: timesOf("symptom", flags, table, calendar.zone, now) };
}

/** Bare values, in the order selected: there are thousands. */
const timedIn = (rows: readonly unknown[]): readonly Timed[] => (rows as readonly (readonly [number, number | null])[]).map(([since, answeredAt]) => ({ since, answeredAt })); // as both select them

type Timed = { readonly since: number; readonly answeredAt: number | null };

/** Every question, oldest first; not where the photo set was sent for the wrong child, which are few. */
function asked(practiceId: string): readonly Timed[] {
  const wrongChild = database().select({ answerId: answers.id }).from(photoSets).crossJoin(answers).where(and(eq(photoSets.voidReason, sql`'wrong-child'`), eq(answers.childId, photoSets.childId), eq(answers.photoSetId, photoSets.id)));
  return timedIn(database().select({ since: questions.askedAt, answeredAt: replies.repliedAt }).from(questions).crossJoin(families)
    .leftJoin(replies, eq(replies.questionId, questions.id))
    .where(and(eq(families.id, questions.familyId), eq(families.practiceId, practiceId), notInArray(questions.answerId, wrongChild)))
    .orderBy(asc(questions.askedAt)).values());
}

/** Every symptom flag, oldest first; its clearance is its answer. */
const flagged = (practiceId: string): readonly Timed[] => timedIn(database().select({ since: symptomReports.reportedAt, answeredAt: symptomClearances.clearedAt }).from(symptomReports)
  .innerJoin(families, eq(families.id, symptomReports.familyId))
  .leftJoin(symptomClearances, eq(symptomClearances.reportId, symptomReports.id))
  .where(eq(families.practiceId, practiceId)).orderBy(asc(symptomReports.reportedAt)).values());

function timesOf(kind: Promised, rows: readonly Timed[], table: ClockTable, zone: string, now: number): KindTimes {
  const timed = rows.map(({ since, answeredAt }) => ({ since, answeredAt, dueAt: table.dueAt(kind, since), workingMs: table.answerTimeMs(since, answeredAt ?? now) }));
  const waiting = timed.filter((each) => each.answeredAt === null);
  const oldest = waiting.at(0);
  const today = localDate(now, zone);
  return {
    waiting: waiting.length,
    oldest: oldest ? { since: oldest.since, dueAt: oldest.dueAt, workingMs: oldest.workingMs } : null,
    overdue: waiting.filter((each) => each.dueAt !== null && each.dueAt < now).length,
    dueToday: waiting.filter((each) => each.dueAt !== null && each.dueAt >= now && localDate(each.dueAt, zone) === today).length,
    figures: answerFigures(timed, now),
  };
}
