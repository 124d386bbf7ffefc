import { patternOf, type Pattern } from "@/lib/domain/curve/record";
import type { Exercise } from "@/lib/domain/setup/exercise";
import { recordOfPattern, resolveAll } from "@/lib/domain/setup/resolve-all";
import type { SetupSides } from "@/lib/domain/setup/setup-sides";

export type CoveredSetup = { readonly setup: SetupSides; readonly patterns: readonly Pattern[] };

/** Every set-up that an exercise's rules can give, mirror images among them, with the curve patterns that get it. */
export const coveredSetups = (exercise: Exercise): readonly CoveredSetup[] =>
  resolveAll(exercise).covered.flatMap(({ setups }) =>
    setups.map(({ resolution, patterns }) => ({ setup: resolution.setup, patterns: patterns.map((states) => patternOf(recordOfPattern(states))) })));
