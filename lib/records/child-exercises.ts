import "server-only";
import { and, isNotNull } from "drizzle-orm";
import { database } from "@/db/client";
import { staffStops } from "@/db/schema/answers";
import { setups } from "@/db/schema/care";
import type { ChildGrant } from "@/lib/access/grant";
import { own, type ChildRef } from "@/lib/records/child-facts";
import { exerciseKeys, isBuiltIn, taughtKeys } from "@/lib/records/exercises";

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
export function childExercises(practiceId: string, ref: ChildRef): readonly string[] {
  const confirmed = database().selectDistinct({ key: setups.exerciseKey }).from(setups).where(own(setups, ref)).all();
  const stopped = database().selectDistinct({ key: staffStops.exerciseKey }).from(staffStops)
    .where(and(own(staffStops, ref), isNotNull(staffStops.exerciseKey))).all();
  const theirs = new Set([...confirmed, ...stopped].map((row) => row.key));
  const [all, taught] = [exerciseKeys(practiceId), taughtKeys(practiceId)];
  const shown = all.filter((key) => theirs.has(key) || (isBuiltIn(key) && taught.includes(key)));
  return shown.length > 0 ? shown : all.filter(isBuiltIn);
}
