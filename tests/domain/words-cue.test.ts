import { describe, expect, test } from "vitest";
import { CUE_PLACEHOLDERS, cueTokens, fillCue } from "@/lib/domain/words/cue";
import type { SetupSides } from "@/lib/domain/setup/setup-sides";

const SETUP: SetupSides = {
  lieOn: "right",
  prop: { kind: "two-small-bags", side: "right", place: "low-back" },
  topArm: { side: "left", position: "up" },
  bottomArm: { side: "right", position: "long-palm-down" },
  topLeg: { side: "left", position: "straight" },
  bottomLeg: { side: "right", position: "knee-bent" },
  breatheInto: { side: "right" },
};
const word = (side: string) => side.toUpperCase();

describe("a cue", () => {
  test.each([
    ["Lie on the {side down} side.", "Lie on the RIGHT side."],
    ["{top arm side} elbow up, {bottom arm side} palm down.", "LEFT elbow up, RIGHT palm down."],
    ["{top leg side} leg straight, {bottom leg side} knee bent", "LEFT leg straight, RIGHT knee bent"],
    ["Breathe into the {breath side}; bags on the {prop side}", "Breathe into the RIGHT; bags on the RIGHT"],
    ["{ Side  Down }", "RIGHT"],
    ["Rest.", "Rest."],
    ["", ""],
  ])("%s", (cue, filled) => {
    expect(fillCue(cue, SETUP, word)).toEqual({ ok: true, value: filled });
  });

  test("comes as words and sides, so that a screen can set the side apart", () => {
    expect(cueTokens("On the {side down} side", SETUP)).toEqual({
      ok: true,
      value: [
        { kind: "words", words: "On the " },
        { kind: "side", side: "right", placeholder: "side down" },
        { kind: "words", words: " side" },
      ],
    });
  });

  test.each(["{side up}", "{}", "{left}", "lie {side down", "lie side down}", "{{side down}}", "{constructor}", "{toString}", "{side down} {"])(
    "is refused with %s in it",
    (cue) => expect(cueTokens(cue, SETUP)).toEqual({ ok: false, problem: { code: "cue-placeholder-unknown", field: "cue" } }),
  );

  test("is refused where the set-up names no such side", () => {
    const plain: SetupSides = { ...SETUP, breatheInto: null, prop: null };
    for (const placeholder of ["breath side", "prop side"]) {
      expect(cueTokens(`Now {${placeholder}}`, plain)).toEqual({
        ok: false, problem: { code: "cue-side-missing", values: { placeholder }, field: "cue" },
      });
    }
  });

  test("can name seven sides", () => expect(CUE_PLACEHOLDERS).toHaveLength(7));
});
