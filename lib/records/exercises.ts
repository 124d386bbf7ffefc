import "server-only";
import type { Exercise } from "@/lib/domain/setup/exercise";
import { SIDE_LYING } from "@/lib/domain/setup/side-lying";

/** The exercises taught, by key. */
const EXERCISES: readonly Exercise[] = [SIDE_LYING];

export const exerciseKeys = (): readonly string[] => EXERCISES.map((exercise) => exercise.key);

/** Throws for a key that no exercise has: keys from a form are checked with `isExerciseKey` first. */
export function exerciseOf(key: string): Exercise {
  const found = EXERCISES.find((exercise) => exercise.key === key);
  if (!found) throw new Error("no such exercise");
  return found;
}

export const isExerciseKey = (key: string): boolean => EXERCISES.some((exercise) => exercise.key === key);
