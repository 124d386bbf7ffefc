import "server-only";
import { and, asc, eq, isNull, or, sql, type Placeholder, type SQL } from "drizzle-orm";
import { database, type Database } from "@/db/client";
import { OF_CHILD, prepared } from "@/db/prepared";
import { answers, verdicts } from "@/db/schema/answers";
import { photoSets } from "@/db/schema/photos";
import type { JudgedItemWithCue } from "@/lib/domain/ledger/judged";
import { inForce } from "@/lib/records/in-force";

/**
 * A verdict in force with the answer it came with, or the visit or call; the other is null. Its sequence is its place
 * among those of its child and exercise.
 */
export type Judged = JudgedItemWithCue & { readonly answerId: string | null; readonly seenLiveId: string | null; readonly cueId: string | null };

/** A verdict that counts, and whose it is. */
export type JudgedRow = Judged & { readonly childId: string; readonly exerciseKey: string };

/** Every verdict of one child and exercise that counts, in order. */
export const readJudged = ({ childId, familyId }: { readonly childId: string; readonly familyId: string }, exerciseKey: string, now: number): readonly Judged[] =>
  counted(rowsOfExercise().all({ childId, familyId, exerciseKey, now })).map(({ childId: _childId, exerciseKey: _exerciseKey, ...judged }) => judged);

/**
 * Every verdict that counts: of answers in force, and seen live. Those on a set sent for the wrong child
 * never do; withdrawn consent lifts no stop. An amended answer keeps the place of its photo set, so that
 * words put right later never outrank what a newer photo showed.
 */
export const readJudgedWhere = (which: SQL | undefined, now: number): readonly JudgedRow[] => counted(rowsWhere(database(), which, now).all());

function rowsWhere(db: Database, which: SQL | undefined, now: number | Placeholder) {
  const place = sql`coalesce((select min(v.sequence) from verdicts v join answers a on a.id = v.answer_id
    where a.photo_set_id = ${answers.photoSetId} and a.taken_back_at is null), ${verdicts.sequence})`;
  return db.select({
    childId: verdicts.childId, exerciseKey: verdicts.exerciseKey,
    itemKey: verdicts.itemKey, verdict: verdicts.verdict, isStop: verdicts.isStop, judgedAt: verdicts.judgedAt,
    judgedBy: verdicts.judgedBy, answerId: verdicts.answerId, seenLiveId: verdicts.seenLiveId, evidenceAt: verdicts.evidenceAt,
    sidesKey: verdicts.sidesKey, cue: verdicts.cue, cueId: verdicts.cueId, voidReason: photoSets.voidReason,
  }).from(verdicts)
    .leftJoin(answers, eq(answers.id, verdicts.answerId))
    .leftJoin(photoSets, eq(photoSets.id, answers.photoSetId))
    .where(and(which, or(isNull(verdicts.answerId), inForce(now))))
    .orderBy(asc(place), asc(verdicts.sequence));
}

const rowsOfExercise = prepared((db) => rowsWhere(db, and(
  eq(verdicts.childId, OF_CHILD.childId), eq(verdicts.familyId, OF_CHILD.familyId), eq(verdicts.exerciseKey, sql.placeholder("exerciseKey")),
), sql.placeholder("now")).prepare());

const counted = (rows: readonly ReturnType<ReturnType<typeof rowsWhere>["all"]>[number][]): readonly JudgedRow[] => rows.flatMap(({ voidReason, ...row }, at) =>
  voidReason !== "wrong-child" ? [{ ...row, sequence: at + 1, source: row.answerId === null ? ("seen-live" as const) : ("answer" as const) }] : []);
