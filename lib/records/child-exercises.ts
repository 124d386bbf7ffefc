import "server-only";
import { and, isNotNull } from "drizzle-orm";
import { OF_CHILD, prepared } from "@/db/prepared";
import { staffStops } from "@/db/schema/answers";
import { setups } from "@/db/schema/care";
import type { ChildGrant } from "@/lib/access/grant";
import { own, type ChildRef } from "@/lib/records/child-facts";
import { exerciseKeys, isBuiltIn, taughtKeys } from "@/lib/records/exercises";

const confirmed = prepared((db) => db.selectDistinct({ key: setups.exerciseKey }).from(setups).where(own(setups, OF_CHILD)).prepare());
const stopped = prepared((db) => db.selectDistinct({ key: staffStops.exerciseKey }).from(staffStops).where(and(own(staffStops, OF_CHILD), isNotNull(staffStops.exerciseKey))).prepare());

/** The exercises of one child, for the choices of their own people. */
export async function exercisesOf(grant: ChildGrant<"child.read">): Promise<readonly string[]> {
  return childExercises(grant.practiceId, grant);
}

/** What a set-up may be confirmed from: the child's own, and everything taught. */
export const exercisesToSetUp = async (grant: ChildGrant<"setup.confirm">): Promise<readonly string[]> => offeredKeys(grant.practiceId, grant);

/** For lib/records alone. */
export function offeredKeys(practiceId: string, ref: ChildRef): readonly string[] {
  const [theirs, taught] = [childExercises(practiceId, ref), taughtKeys(practiceId)];
  return exerciseKeys(practiceId).filter((key) => theirs.includes(key) || taught.includes(key));
}

/**
 * What a therapist once confirmed for this child or stopped, retired or not, and the shipped ones that
 * are taught. Never empty: a child with nothing yet must still be told "not yet", or "stop".
 * For lib/records alone.
 */
export function childExercises(practiceId: string, { childId, familyId }: ChildRef, { all, taught } = knownExercises(practiceId)): readonly string[] {
  const theirs = new Set([...confirmed().all({ childId, familyId }), ...stopped().all({ childId, familyId })].map((row) => row.key));
  const shown = all.filter((key) => theirs.has(key) || (isBuiltIn(key) && taught.includes(key)));
  return shown.length > 0 ? shown : all.filter(isBuiltIn);
}

/** Which exercises the practice has and teaches, read once for many children. For lib/records alone. */
export const knownExercises = (practiceId: string) => ({ all: exerciseKeys(practiceId), taught: taughtKeys(practiceId) });
