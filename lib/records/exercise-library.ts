import "server-only";
import { and, desc, eq } from "drizzle-orm";
import { database } from "@/db/client";
import { children, families, setups } from "@/db/schema/care";
import { exerciseDrafts } from "@/db/schema/teaching";
import type { PracticeGrant } from "@/lib/access/grant";
import type { Exercise } from "@/lib/domain/setup/exercise";
import type { ExerciseWords } from "@/lib/domain/setup/exercise-words.schema";
import { exerciseWords, writtenWords, type ExerciseNames } from "@/lib/records/exercise-names";
import { exerciseKeys, exerciseOf, isBuiltIn, taughtKeys, writtenVersions } from "@/lib/records/exercises";
import { personName } from "@/lib/records/standing";

export type ExerciseRow = {
  readonly key: string;
  readonly title: string;
  readonly isBuiltIn: boolean;
  /** The newest; 0 for one the reader is still writing. */
  readonly version: number;
  readonly isRetired: boolean;
  readonly children: number;
  /** The reader has a version of it in hand that is not saved. */
  readonly isInHand: boolean;
};

/** The practice's exercises, and what the reader has begun. */
export async function exerciseRows(grant: PracticeGrant<"exercise.read">): Promise<readonly ExerciseRow[]> {
  const taught = taughtKeys(grant.practiceId);
  const known = exerciseKeys(grant.practiceId);
  const inHand = database().select({ key: exerciseDrafts.exerciseKey }).from(exerciseDrafts)
    .where(and(eq(exerciseDrafts.practiceId, grant.practiceId), eq(exerciseDrafts.personId, grant.actor.personId))).all().map((row) => row.key);
  const begun = inHand.filter((key) => !known.includes(key));
  return [
    ...known.map((key) => ({
      key, title: exerciseWords(grant.practiceId, key, null).title, isBuiltIn: isBuiltIn(key), version: exerciseOf(grant.practiceId, key).version,
      isRetired: !taught.includes(key), children: childrenWith(grant, key).length, isInHand: inHand.includes(key),
    })),
    ...begun.map((key) => ({
      key, title: exerciseWords(grant.practiceId, key, null).title, isBuiltIn: false, version: 0, isRetired: false, children: 0, isInHand: true,
    })),
  ];
}

export type ExerciseShown = {
  readonly exercise: Exercise;
  readonly names: ExerciseNames;
  readonly words: ExerciseWords;
  readonly isBuiltIn: boolean;
  readonly isRetired: boolean;
  readonly newest: number;
  /** Newest first; none of a shipped one. */
  readonly history: readonly { readonly version: number; readonly title: string; readonly by: string; readonly at: number }[];
  readonly children: readonly ChildWith[];
};

/** One version (the newest without a number) with its history and who has it; null for what this practice does not have. */
export async function exerciseShown(grant: PracticeGrant<"exercise.read">, key: string, version: number | null): Promise<ExerciseShown | null> {
  if (!exerciseKeys(grant.practiceId).includes(key)) return null;
  const versions = writtenVersions(grant.practiceId, key);
  const newest = exerciseOf(grant.practiceId, key);
  if (version !== null && version !== newest.version && !versions.some((each) => each.exercise.version === version)) return null;
  const exercise = exerciseOf(grant.practiceId, key, version ?? newest.version);
  return {
    exercise, names: exerciseWords(grant.practiceId, key, exercise.version), words: writtenWords(grant.practiceId, exercise),
    isBuiltIn: isBuiltIn(key), isRetired: !taughtKeys(grant.practiceId).includes(key), newest: newest.version,
    history: versions.map((each) => ({
      version: each.exercise.version, title: each.words.title, by: personName(grant.practiceId, each.writtenBy) ?? "", at: each.writtenAt,
    })),
    children: childrenWith(grant, key),
  };
}

export type ChildWith = { readonly childId: string; readonly childName: string; readonly version: number };

/** Whose newest set-up of this exercise names which version. */
function childrenWith(grant: PracticeGrant<"exercise.read">, key: string): readonly ChildWith[] {
  const rows = database().select({ childId: children.id, childName: children.givenName, version: setups.exerciseVersion }).from(setups)
    .innerJoin(children, and(eq(children.id, setups.childId), eq(children.familyId, setups.familyId)))
    .innerJoin(families, eq(families.id, children.familyId))
    .where(and(eq(families.practiceId, grant.practiceId), eq(setups.exerciseKey, key)))
    .orderBy(children.givenName, children.id, desc(setups.sequence)).all();
  return rows.filter((row, at) => rows.findIndex((other) => other.childId === row.childId) === at);
}
