import "server-only";
import { and, asc, desc, eq, isNull, sql } from "drizzle-orm";
import { database } from "@/db/client";
import { prepared } from "@/db/prepared";
import { exercisesRetired, exerciseVersions } from "@/db/schema/teaching";
import type { Exercise } from "@/lib/domain/setup/exercise";
import { StoredExerciseWords, type ExerciseWords } from "@/lib/domain/setup/exercise-words.schema";
import { ExerciseForm } from "@/lib/domain/setup/exercise.schema";
import { SIDE_LYING } from "@/lib/domain/setup/side-lying";

/** Shipped with the product, in every practice. Their words are in the catalogue. */
const BUILT_IN: readonly Exercise[] = [SIDE_LYING];

const OF_PRACTICE = sql.placeholder("practiceId");
const writtenHere = prepared((db) => db.select({ key: exerciseVersions.exerciseKey }).from(exerciseVersions)
  .where(and(eq(exerciseVersions.practiceId, OF_PRACTICE), eq(exerciseVersions.version, 1))).orderBy(asc(exerciseVersions.writtenAt)).prepare());
const retired = prepared((db) => db.select({ key: exercisesRetired.exerciseKey }).from(exercisesRetired)
  .where(and(eq(exercisesRetired.practiceId, OF_PRACTICE), isNull(exercisesRetired.returnedAt))).prepare());
const versionsOf = prepared((db) => db.select({ id: exerciseVersions.id }).from(exerciseVersions)
  .where(and(eq(exerciseVersions.practiceId, OF_PRACTICE), eq(exerciseVersions.exerciseKey, sql.placeholder("key")))).orderBy(desc(exerciseVersions.version)).prepare());

export const isBuiltIn = (key: string): boolean => BUILT_IN.some((exercise) => exercise.key === key);

/** Every exercise the practice knows, retired ones too: the shipped ones, then its own in the order they were written. */
export function exerciseKeys(practiceId: string): readonly string[] {
  return [...BUILT_IN.map((exercise) => exercise.key), ...writtenHere().all({ practiceId }).map((row) => row.key)];
}

/** What may still be taught to another child. */
export function taughtKeys(practiceId: string): readonly string[] {
  const notTaught = retired().all({ practiceId });
  return exerciseKeys(practiceId).filter((key) => !notTaught.some((row) => row.key === key));
}

export const isExerciseKey = (practiceId: string, key: string): boolean => exerciseKeys(practiceId).includes(key);

/**
 * One version of an exercise, or its newest. Throws for what the practice does not have: keys from a
 * form are checked with `isExerciseKey` first, and a confirmed set-up names a version that was written.
 */
export function exerciseOf(practiceId: string, key: string, version?: number): Exercise {
  const versions = exerciseVersionsOf(practiceId, key);
  const found = version === undefined ? versions[0] : versions.find((exercise) => exercise.version === version);
  if (!found) throw new Error("no such exercise");
  return found;
}

/** Every version of one exercise, the newest first. */
export function exerciseVersionsOf(practiceId: string, key: string): readonly Exercise[] {
  const builtIn = BUILT_IN.find((exercise) => exercise.key === key);
  return builtIn ? [builtIn] : writtenVersions(practiceId, key).map((each) => each.exercise);
}

export type WrittenVersion = {
  readonly exercise: Exercise;
  readonly words: ExerciseWords;
  readonly writtenBy: string;
  readonly writtenAt: number;
};

/** Rows are appended and never change, so what was parsed once stays true. By row id. */
const parsed = new Map<string, WrittenVersion>();

/** Every version that this practice's therapists wrote of it, newest first; none of a shipped one. */
export function writtenVersions(practiceId: string, key: string): readonly WrittenVersion[] {
  return versionsOf().all({ practiceId, key }).map(({ id }) => {
    const known = parsed.get(id);
    if (known) return known;
    const row = database().select().from(exerciseVersions).where(and(eq(exerciseVersions.practiceId, practiceId), eq(exerciseVersions.id, id))).get();
    if (!row) throw new Error("a version is gone");
    const written: WrittenVersion = {
      exercise: ExerciseForm.parse(JSON.parse(row.body)), words: StoredExerciseWords.parse(JSON.parse(row.words)),
      writtenBy: row.writtenBy, writtenAt: row.writtenAt,
    };
    parsed.set(id, written);
    return written;
  });
}
