import "server-only";
import { notFound } from "next/navigation";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { exerciseWords, type ExerciseNames } from "@/lib/records/exercise-names";
import { practiceOf } from "@/lib/records/practice";
import { pointsToTeach, taughtIn, type PointToTeach, type Taught } from "@/lib/records/teaching";

export type Query = Promise<{ readonly exercise?: string | string[]; readonly pattern?: string | string[] }>;

/** One exercise and curve pattern with its points, and everything else that was judged; `zone` is the practice's. */
export type Teaching = {
  readonly all: readonly Taught[];
  readonly one: Taught;
  readonly points: readonly PointToTeach[];
  readonly names: ExerciseNames;
  readonly titleOf: (exerciseKey: string) => string;
  readonly zone: string;
  readonly now: number;
};

/**
 * What the address asks to be taught again; without a choice the most judged. Null when nothing was judged
 * yet. Nothing is found under an address that names what was not.
 */
export async function teachingIn(query: Query): Promise<Teaching | null> {
  const actor = await signedIn();
  const now = Date.now();
  const reading = await grant(actor, "teaching.read", null);
  const all = await taughtIn(reading, now);
  const { exercise, pattern } = await query;
  const named = all.find((each) => each.exerciseKey === exercise && each.patternKey === pattern);
  const one = named ?? (exercise === undefined ? all[0] : undefined);
  if (!one && all.length > 0) notFound();
  if (!one) return null;
  const { timeZone: zone } = await practiceOf(await grant(actor, "practice.read", null), now);
  const wordsOf = (exerciseKey: string) => exerciseWords(actor.practiceId, exerciseKey, null);
  return { all, one, points: await pointsToTeach(reading, one, now), names: wordsOf(one.exerciseKey), titleOf: (key) => wordsOf(key).title, zone, now };
}

export const addressOf = (page: string, { exerciseKey, patternKey }: Taught): string => `${page}?${new URLSearchParams({ exercise: exerciseKey, pattern: patternKey }).toString()}`;
