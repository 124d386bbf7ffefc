import * as fc from "fast-check";
import { describe, expect, test } from "vitest";
import { mirrorRecord } from "@/lib/domain/curve/record";
import { REGIONS } from "@/lib/domain/curve/region";
import type { Written } from "@/lib/domain/setup/build-exercise";
import type { ExerciseDraft } from "@/lib/domain/setup/exercise-draft";
import { draftOf, fieldsOf } from "@/lib/domain/setup/exercise-fields";
import { ExerciseForm, StoredResolution } from "@/lib/domain/setup/exercise.schema";
import { mirrorResolution, resolve } from "@/lib/domain/setup/resolve";
import { ALL_PATTERNS, recordOfPattern, resolveAll } from "@/lib/domain/setup/resolve-all";
import { isPossible } from "@/lib/domain/setup/setup-sides";
import { checkExercise } from "@/lib/domain/setup/write-exercise";
import { wholeDraft } from "@/tests/property/exercise-writer";

const written = (draft: ExerciseDraft): Written => {
  const checked = checkExercise(draft, "an-exercise", 1);
  if (!checked.written || checked.problems.length > 0) throw new Error(JSON.stringify(checked.problems));
  return checked.written;
};

describe("any exercise that a therapist may save", () => {
  test("resolves the mirrored record to exactly the mirrored set-up, for all 256 patterns", () => {
    let covered = 0;
    fc.assert(fc.property(wholeDraft, (draft) => {
      const { exercise } = written(draft);
      for (const states of ALL_PATTERNS) {
        const record = recordOfPattern(states);
        const resolution = resolve(exercise, record);
        expect(resolve(exercise, mirrorRecord(record))).toEqual(mirrorResolution(resolution));
        if (resolution.coverage === "not-covered") continue;
        covered += 1;
        expect(isPossible(resolution.setup)).toBe(true);
        expect(() => StoredResolution.parse(JSON.parse(JSON.stringify(resolution)))).not.toThrow();
      }
    }), { numRuns: 40 });
    // It would prove nothing on refusals alone.
    expect(covered).toBeGreaterThan(300);
  });

  test("never covers a region not assessed, keeps its stop items and shows each by a photo", () => {
    fc.assert(fc.property(wholeDraft, (draft) => {
      const { exercise } = written(draft);
      for (const { setups } of resolveAll(exercise).covered) for (const { resolution, patterns } of setups) {
        expect(patterns.some((states) => REGIONS.some((region) => states[region] === "not-assessed"))).toBe(false);
        const stops = resolution.items.filter((item) => item.isStop);
        expect(stops.map((item) => item.key)).toContain("side-down");
        expect(stops.every((item) => item.requiredForGo && item.evidence.includes("still"))).toBe(true);
        expect(resolution.phases.every((phase) => resolution.items.some((item) => item.phase === phase))).toBe(true);
      }
    }), { numRuns: 40 });
  });

  test("puts every pattern in one row, and a pattern's mirror image beside it", () => {
    fc.assert(fc.property(wholeDraft, (draft) => {
      const { covered, refused } = resolveAll(written(draft).exercise);
      const rows = [...covered.map((row) => row.setups.flatMap((each) => each.patterns)), ...refused.map((row) => row.patterns)];
      expect(rows.flat()).toHaveLength(256);
      expect(new Set(rows.flat().map((states) => JSON.stringify(states))).size).toBe(256);
      const swap = { left: "right", right: "left", none: "none", "not-assessed": "not-assessed" } as const;
      for (const row of rows) {
        const keys = new Set(row.map((states) => REGIONS.map((region) => states[region]).join()));
        expect(row.every((states) => keys.has(REGIONS.map((region) => swap[states[region]]).join()))).toBe(true);
      }
    }), { numRuns: 40 });
  });

  test("comes through the form and through storage unchanged", () => {
    fc.assert(fc.property(wholeDraft, (draft) => {
      const { exercise, words } = written(draft);
      const again = written(draftOf(fieldsOf(exercise, words)));
      expect(again).toEqual({ exercise, words });
      expect(ExerciseForm.parse(JSON.parse(JSON.stringify(exercise)))).toEqual(exercise);
    }), { numRuns: 40 });
  });

  test("is refused as soon as a second rule takes one of its patterns", () => {
    fc.assert(fc.property(wholeDraft, fc.nat(), (draft, at) => {
      const rule = draft.rules[at % draft.rules.length];
      if (!rule) return;
      const twice = checkExercise({ ...draft, rules: [...draft.rules, { ...rule, key: "again" }] }, "an-exercise", 1);
      const isEver = resolveAll(written(draft).exercise).covered.some((row) => row.variation === rule.key);
      expect(twice.problems.filter((each) => each.code === "rules-overlap").map((each) => each.field)).toEqual(isEver ? ["rule.again.when"] : []);
    }), { numRuns: 40 });
  });
});
