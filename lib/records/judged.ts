import "server-only";
import { and, asc, eq, isNull, or, sql, type Placeholder, type SQL } from "drizzle-orm";
import { database, type Database } from "@/db/client";
import { OF_CHILD, prepared } from "@/db/prepared";
import { answers, verdicts } from "@/db/schema/answers";
import { photoSets } from "@/db/schema/photos";
import type { JudgedItemWithCue } from "@/lib/domain/ledger/judged";
import type { Verdict } from "@/lib/domain/setup/vocabulary";
import { inForce } from "@/lib/records/in-force";

/**
 * A verdict in force with the answer it came with, or the visit or call; the other is null. Its sequence is its place
 * among those of its child and exercise.
 */
export type Judged = JudgedItemWithCue & { readonly answerId: string | null; readonly seenLiveId: string | null; readonly cueId: string | null };

/** A verdict that counts, and whose it is. */
export type JudgedRow = Judged & { readonly childId: string; readonly exerciseKey: string };

/** Every verdict of one child and exercise that counts, in order. */
export function readJudged({ childId, familyId }: { readonly childId: string; readonly familyId: string }, exerciseKey: string, now: number): readonly Judged[] {
  const judged: Judged[] = [];
  for (const [at, row] of (rowsOfExercise().values({ childId, familyId, exerciseKey, now }) as readonly unknown[] as readonly Values[]).entries()) if (counts(row)) judged.push(judgedIn(row, at)); // in the order selected
  return judged;
}

/**
 * Every verdict that counts: of answers in force, and seen live. Those on a set sent for the wrong child
 * never do; withdrawn consent lifts no stop. An amended answer keeps the place of its photo set, so that
 * words put right later never outrank what a newer photo showed.
 */
export function readJudgedWhere(which: SQL | undefined, now: number): readonly JudgedRow[] {
  const judged: JudgedRow[] = [];
  for (const [at, row] of (rowsWhere(database(), which, now).values() as readonly unknown[] as readonly Values[]).entries()) if (counts(row)) judged.push({ ...judgedIn(row, at), childId: row[12], exerciseKey: row[13] }); // as above
  return judged;
}

function rowsWhere(db: Database, which: SQL | undefined, now: number | Placeholder) {
  // The verdicts of one answer are written in one act: nothing stands between them, so that those of a first version are in their place.
  const place = sql`case when ${answers.version} > 1 then (select min(v.sequence) from verdicts v join answers a on a.id = v.answer_id
    where a.photo_set_id = ${answers.photoSetId} and a.taken_back_at is null) else ${verdicts.sequence} end`;
  return db.select({
    itemKey: verdicts.itemKey, verdict: verdicts.verdict, isStop: verdicts.isStop, judgedAt: verdicts.judgedAt,
    judgedBy: verdicts.judgedBy, answerId: verdicts.answerId, seenLiveId: verdicts.seenLiveId, evidenceAt: verdicts.evidenceAt,
    sidesKey: verdicts.sidesKey, cue: verdicts.cue, cueId: verdicts.cueId, isForOther: sql<number>`exists (select 1 from ${photoSets} where ${photoSets.id} = ${answers.photoSetId} and ${photoSets.voidReason} = 'wrong-child')`, childId: verdicts.childId, exerciseKey: verdicts.exerciseKey,
  }).from(verdicts)
    .leftJoin(answers, eq(answers.id, verdicts.answerId))
    .where(and(which, or(isNull(verdicts.answerId), inForce(now))))
    .orderBy(asc(place), asc(verdicts.sequence));
}

const rowsOfExercise = prepared((db) => rowsWhere(db, and(
  eq(verdicts.childId, OF_CHILD.childId), eq(verdicts.familyId, OF_CHILD.familyId), eq(verdicts.exerciseKey, sql.placeholder("exerciseKey")),
), sql.placeholder("now")).prepare());

/** Bare values: naming the fields of thousands inside the library takes longer than reading them. */
type Values = readonly [
  itemKey: string, verdict: Verdict, isStop: number, judgedAt: number, judgedBy: string, answerId: string | null, seenLiveId: string | null, evidenceAt: number | null,
  sidesKey: string, cue: string | null, cueId: string | null, isForOther: number, childId: string, exerciseKey: string,
];

const counts = (row: Values): boolean => row[11] === 0;

const judgedIn = (row: Values, at: number): Judged => ({
  itemKey: row[0], verdict: row[1], isStop: row[2] === 1, judgedAt: row[3], judgedBy: row[4], answerId: row[5], seenLiveId: row[6], evidenceAt: row[7],
  sidesKey: row[8], cue: row[9], cueId: row[10], sequence: at + 1, source: row[5] === null ? "seen-live" : "answer",
});
