import "server-only";
import { and, asc, eq, gte, isNotNull, isNull, lt, notExists, sql, type SQL } from "drizzle-orm";
import { alias } from "drizzle-orm/sqlite-core";
import { database } from "@/db/client";
import { among, OF_CHILD, prepared } from "@/db/prepared";
import { answers } from "@/db/schema/answers";
import { families } from "@/db/schema/care";
import { photoSets } from "@/db/schema/photos";
import { people } from "@/db/schema/practice";
import { backQuestions } from "@/db/schema/questions";
import type { ChildGrant } from "@/lib/access/grant";
import type { BackQuestionTimes } from "@/lib/domain/answering/back-question";
import { own, type ChildRef } from "@/lib/records/child-facts";
import { grouped } from "@/lib/records/grouped";
import { inForce } from "@/lib/records/in-force";

export type BackQuestion = BackQuestionTimes & {
  readonly backQuestionId: string;
  readonly words: string;
  readonly askedBy: string;
  /** The family's words and whose they are; null while there are none. */
  readonly reply: string | null;
  readonly repliedBy: string | null;
  /** The photo set that came in the place of words; null for none, and once it counts nowhere any more. */
  readonly newPhotoSetId: string | null;
};

const asker = alias(people, "asker");
const replier = alias(people, "replier");
const later = alias(photoSets, "later");

/** Everything asked back about one photo set, oldest first. For lib/records alone: the caller has the grant. */
export const askedAbout = (ref: ChildRef, photoSetId: string): readonly BackQuestion[] => askedAboutEach(ref, [photoSetId]).get(photoSetId) ?? [];

const askedAboutSets = prepared((db) => db.select({
  photoSetId: backQuestions.photoSetId, backQuestionId: backQuestions.id, words: backQuestions.words, askedBy: asker.name, askedAt: backQuestions.askedAt,
  reply: backQuestions.reply, repliedBy: replier.name, repliedAt: backQuestions.repliedAt, withdrawnAt: backQuestions.withdrawnAt, newPhotoAt: backQuestions.newPhotoAt, newPhotoSetId: later.id,
}).from(backQuestions)
  .innerJoin(asker, eq(asker.id, backQuestions.askedBy))
  .leftJoin(replier, eq(replier.id, backQuestions.repliedBy))
  .leftJoin(photoSets, and(eq(photoSets.id, backQuestions.photoSetId), eq(photoSets.childId, backQuestions.childId)))
  .leftJoin(later, and(own(later, OF_CHILD), eq(later.exerciseKey, photoSets.exerciseKey), eq(later.sentAt, backQuestions.newPhotoAt), isNull(later.voidedAt)))
  .where(and(own(backQuestions, OF_CHILD), among(backQuestions.photoSetId, "photoSetIds")))
  .orderBy(asc(backQuestions.askedAt), asc(backQuestions.id)).prepare());

/** The same of several sets of one child, by the set. */
export function askedAboutEach({ childId, familyId }: ChildRef, photoSetIds: readonly string[]): ReadonlyMap<string, readonly BackQuestion[]> {
  const rows = askedAboutSets().all({ childId, familyId, photoSetIds: JSON.stringify(photoSetIds) });
  return new Map([...grouped(rows, (row) => row.photoSetId)].map(([id, of]) => [id, of.map(({ photoSetId: _photoSetId, ...question }) => question)]));
}

/** Nothing ended it: a condition on `backQuestions`, for the query around it. */
export const isOpenQuestion = (): SQL | undefined => and(isNull(backQuestions.repliedAt), isNull(backQuestions.withdrawnAt), isNull(backQuestions.newPhotoAt));

/** A question that waits for the family's words, and the photos it is about. */
export type OpenBackQuestion = Pick<BackQuestion, "words" | "askedBy" | "askedAt"> & { readonly photoSetId: string; readonly sentAt: number };

const unanswered = prepared((db) => {
  const answered = db.select({ one: sql`1` }).from(answers).where(and(eq(answers.photoSetId, photoSets.id), inForce(sql.placeholder("now"))));
  return db.select({ photoSetId: photoSets.id, sentAt: sql<number>`${photoSets.sentAt}`, words: backQuestions.words, askedBy: asker.name, askedAt: backQuestions.askedAt }).from(backQuestions)
    .innerJoin(photoSets, and(eq(photoSets.id, backQuestions.photoSetId), eq(photoSets.childId, backQuestions.childId)))
    .innerJoin(asker, eq(asker.id, backQuestions.askedBy))
    .where(and(own(backQuestions, OF_CHILD), isOpenQuestion(), isNotNull(photoSets.sentAt), isNull(photoSets.voidedAt), notExists(answered)))
    .orderBy(asc(backQuestions.askedAt)).prepare();
});

/** What the family of this child was asked and has not answered, oldest first. Nothing of an answer shows here before it is published. */
export const openBackQuestions = async ({ childId, familyId }: ChildGrant<"child.read">, now: number): Promise<readonly OpenBackQuestion[]> =>
  unanswered().all({ childId, familyId, now });

const TIMES = { photoSetId: backQuestions.photoSetId, askedAt: backQuestions.askedAt, repliedAt: backQuestions.repliedAt, withdrawnAt: backQuestions.withdrawnAt, newPhotoAt: backQuestions.newPhotoAt } as const;
export type AskedTimes = ReadonlyMap<string, readonly BackQuestionTimes[]>;

/** When each photo set of a practice waited on its family, for those that were asked about since an instant. For lib/records alone. */
export const readAskedTimes = (practiceId: string, since = 0): AskedTimes =>
  // In this order: a cross join is what SQLite never turns around.
  bySet(database().select(TIMES).from(backQuestions).crossJoin(families)
    .where(and(gte(backQuestions.askedAt, since), eq(families.id, backQuestions.familyId), eq(families.practiceId, practiceId))).all());

/** The same of the photo sets sent in a time, however late they were asked about. */
export const readAskedTimesIn = (from: number, until: number): AskedTimes => bySet(database().select(TIMES).from(photoSets).crossJoin(backQuestions)
  .where(and(gte(photoSets.sentAt, from), lt(photoSets.sentAt, until), isNull(photoSets.voidedAt), eq(backQuestions.childId, photoSets.childId), eq(backQuestions.photoSetId, photoSets.id))).all());

const bySet = (rows: readonly (BackQuestionTimes & { readonly photoSetId: string })[]): AskedTimes => grouped(rows, ({ photoSetId }) => photoSetId);
