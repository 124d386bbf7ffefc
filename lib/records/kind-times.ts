import "server-only";
import { and, asc, eq, isNull, ne, or } from "drizzle-orm";
import { database } from "@/db/client";
import { answers } from "@/db/schema/answers";
import { families } from "@/db/schema/care";
import { photoSets, symptomClearances, symptomReports } from "@/db/schema/photos";
import { questions, replies } from "@/db/schema/questions";
import { answerFigures, type AnswerFigures } from "@/lib/domain/stats/answer-figures";
import { localDate } from "@/lib/domain/time/local";
import { clockTable } from "@/lib/domain/time/clock-table";
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
  return { question: timesOf("question", asked(practiceId), calendar, now), symptom: timesOf("symptom", flagged(practiceId), calendar, now) };
}

type Timed = { readonly since: number; readonly answeredAt: number | null };

/** Every question, oldest first; not where the photo set was sent for the wrong child. */
const asked = (practiceId: string): readonly Timed[] => database().select({ since: questions.askedAt, answeredAt: replies.repliedAt }).from(questions)
  .innerJoin(families, eq(families.id, questions.familyId))
  .innerJoin(answers, and(eq(answers.id, questions.answerId), eq(answers.childId, questions.childId)))
  .innerJoin(photoSets, and(eq(photoSets.id, answers.photoSetId), eq(photoSets.childId, answers.childId)))
  .leftJoin(replies, eq(replies.questionId, questions.id))
  .where(and(eq(families.practiceId, practiceId), or(isNull(photoSets.voidedAt), ne(photoSets.voidReason, "wrong-child"))))
  .orderBy(asc(questions.askedAt)).all();

/** Every symptom flag, oldest first; its clearance is its answer. */
const flagged = (practiceId: string): readonly Timed[] => database().select({ since: symptomReports.reportedAt, answeredAt: symptomClearances.clearedAt }).from(symptomReports)
  .innerJoin(families, eq(families.id, symptomReports.familyId))
  .leftJoin(symptomClearances, eq(symptomClearances.reportId, symptomReports.id))
  .where(eq(families.practiceId, practiceId)).orderBy(asc(symptomReports.reportedAt)).all();

function timesOf(kind: Promised, rows: readonly Timed[], calendar: CalendarHistory, now: number): KindTimes {
  const table = clockTable(calendar, rows[0]?.since ?? now, now);
  const timed = rows.map(({ since, answeredAt }) => ({ since, answeredAt, dueAt: table.dueAt(kind, since), workingMs: table.answerTimeMs(since, answeredAt ?? now) }));
  const waiting = timed.filter((each) => each.answeredAt === null);
  const oldest = waiting.at(0);
  const today = localDate(now, calendar.zone);
  return {
    waiting: waiting.length,
    oldest: oldest ? { since: oldest.since, dueAt: oldest.dueAt, workingMs: oldest.workingMs } : null,
    overdue: waiting.filter((each) => each.dueAt !== null && each.dueAt < now).length,
    dueToday: waiting.filter((each) => each.dueAt !== null && each.dueAt >= now && localDate(each.dueAt, calendar.zone) === today).length,
    figures: answerFigures(timed, now),
  };
}
