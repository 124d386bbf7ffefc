import * as fc from "fast-check";
import { describe, expect, test } from "vitest";
import { coveredSetups } from "@/lib/domain/setup/covered-patterns";
import { SIDE_LYING } from "@/lib/domain/setup/side-lying";
import { checkCue, CUE_LENGTH } from "@/lib/domain/words/check-cue";
import { CUE_PLACEHOLDERS, offerCue } from "@/lib/domain/words/cue";

const SETUPS = coveredSetups(SIDE_LYING).map((each) => each.setup);
const check = (typed: string) => checkCue(typed, SETUPS);
const word = (side: string): string => side.toUpperCase();

describe("a cue that may be stored", () => {
  test.each([
    ["Lie on the {side down} side.", "Lie on the {side down} side."],
    ["  Lift\r\nthe elbow \t higher. ", "Lift the elbow higher."],
    ["Breathe wide on the {breath side} side", "Breathe wide on the {breath side} side"],
    ["Bright, upright, outright", "Bright, upright, outright"],
    ["Press at L2, please", "Press at L2, please"],
    ["Top leg ({ Top  Leg Side }) long", "Top leg ({top leg side}) long"],
    ["x".repeat(CUE_LENGTH), "x".repeat(CUE_LENGTH)],
    // One letter of two code points and the same letter of one: Unicode Standard Annex 15.
    ["Cafe\u0301", "Caf\u00E9"],
  ])("%j", (typed, stored) => expect(check(typed)).toEqual({ ok: true, value: stored }));

  test.each([
    ["", "cue-empty"], ["   ", "cue-empty"], ["?! 4", "cue-empty"], ["{side down}", "cue-empty"],
    ["x".repeat(CUE_LENGTH + 1), "cue-too-long"],
    ["Lift\u0000 up", "cue-characters"], ["Lie on the \u202Eside", "cue-characters"], ["Lift\u200B up", "cue-characters"], ["Lift \u2066up\u2069", "cue-characters"],
    ["Lift\u2028up", "cue-characters"], ["Lift \uD800", "cue-characters"], ["Soft\u00ADhyphen", "cue-characters"],
    ["Lie on the {side up} side", "cue-placeholder-unknown"], ["Lie on the {side down side", "cue-placeholder-unknown"], ["Lie {left}", "cue-placeholder-unknown"],
    ["Lie on your left side", "cue-side-typed"], ["Lie on the RIGHT", "cue-side-typed"], ["left-hand side", "cue-side-typed"], ["Both lefts", "cue-side-typed"],
    ["Lie on your L side", "cue-side-typed"], ["Arm (R): up", "cue-side-typed"], ["Lie on the \uFF2C\uFF25\uFF26\uFF34 side", "cue-side-typed"],
    ["A right angle at the knee", "cue-side-typed"], ["Righthand side", "cue-side-typed"],
    // Each would tell some child to do it on the other side.
    ["Lie on the {top arm side} side.", "cue-side-disagree"], ["Bottom arm ({top arm side}): long.", "cue-side-disagree"],
    ["Put the bags under the {top leg side} side.", "cue-side-disagree"],
    // The lumbar curve alone has a breath without a side.
    ["Breathe wide on the {side down} side.", "cue-side-disagree"],
  ])("refuses %j: %s", (typed, code) => expect(check(typed)).toMatchObject({ ok: false, problem: { code, field: "words" } }));

  const piece = fc.oneof(
    fc.constantFrom(...CUE_PLACEHOLDERS.map((name) => `{${name}}`)),
    fc.constantFrom("Lie on the", "side.", "Top arm (", "):", "lift", "the bags under", "left", "Bottom leg", "breathe", "{", "}", "not", "knee", "so that", "R"),
    fc.string({ unit: "grapheme", maxLength: 6 }),
  );
  const cue = fc.array(piece, { minLength: 1, maxLength: 9 }).map((pieces) => pieces.join(" "));

  test("can be filled, or is not offered; filled, it holds no braces, names no side but by placeholder, and may be saved again", () => {
    let saved = 0;
    fc.assert(fc.property(cue, (typed) => {
      const checked = check(typed);
      if (!checked.ok) return;
      saved += 1;
      expect(check(checked.value)).toEqual(checked);
      for (const setup of SETUPS) {
        const offered = offerCue(checked.value, setup, word);
        if (!offered.ok) {
          expect(offered.problem.code).toBe("cue-side-missing");
          continue;
        }
        expect(offered.value).not.toMatch(/[{}]/);
        expect(offered.value.match(/LEFT|RIGHT/g)?.length ?? 0).toBe(checked.value.match(/\{/g)?.length ?? 0);
      }
    }), { numRuns: 2000 });
    expect(saved).toBeGreaterThan(100);
  });
});
