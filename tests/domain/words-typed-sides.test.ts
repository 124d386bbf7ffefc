import * as fc from "fast-check";
import { describe, expect, test } from "vitest";
import { typedSides } from "@/lib/domain/words/typed-sides";
import { mirrorSetup, type SetupSides } from "@/lib/domain/setup/setup-sides";

/** Thoracic right, lumbar left: lies on the left. */
const SETUP: SetupSides = {
  lieOn: "left",
  prop: { kind: "two-small-bags", side: "left", place: "low-back" },
  topArm: { side: "right", position: "up" },
  bottomArm: { side: "left", position: "long-palm-down" },
  topLeg: { side: "right", position: "straight" },
  bottomLeg: { side: "left", position: "knee-bent" },
  breatheInto: { side: "left" },
};
const NO_BREATH: SetupSides = { ...SETUP, topArm: { side: "right", position: "on-hip" }, breatheInto: null };

const read = (text: string, setup: SetupSides = SETUP) => typedSides(text, setup).map(({ side, about, agrees }) => [side, about, agrees]);

describe("what the words make plain", () => {
  test.each<[string, ...[string, string, boolean][]]>([
    ["Lie on your left side.", ["left", "lie", true]],
    ["Lie on your RIGHT side.", ["right", "lie", false]],
    ["lie on the right, arm up", ["right", "lie", false]],
    ["Roll onto your right side and wait.", ["right", "lie", false]],
    ["Side down: LEFT", ["left", "lie", true]],
    ["LEFT side down, please", ["left", "lie", true]],
    ["Lie on your left hip.", ["left", "lie", true]],
    ["Top arm (RIGHT): up, elbow high.", ["right", "arm", true]],
    ["Top arm (LEFT): up, elbow high.", ["left", "arm", false]],
    ["Right top arm up", ["right", "arm", true]],
    ["Lift your left elbow higher.", ["left", "arm", false]],
    ["Your left arm stays long on the floor.", ["left", "arm", true]],
    ["Bottom arm, right, palm down", ["right", "arm", false]],
    ["Open your right armpit", ["right", "arm", true]],
    ["Slide the bottom corner of your right shoulder blade forward.", ["right", "arm", true]],
    ["Slide the bottom corner of your left shoulder blade forward.", ["left", "arm", false]],
    ["Keep the left knee bent", ["left", "leg", true]],
    ["Keep your left leg straight", ["left", "leg", false]],
    ["Reach long: right leg straight, lift it a little", ["right", "leg", true]],
    ["Top leg is right.", ["right", "leg", true]],
    ["Put the bags under the left side of your low back.", ["left", "prop", true]],
    ["Slide the bags under your right side.", ["right", "prop", false]],
    ["Bags: RIGHT", ["right", "prop", false]],
    ["Breathe into your left ribs.", ["left", "breath", true]],
    ["Breathe wide on the RIGHT", ["right", "breath", false]],
    ["Widen the ribs of your right side", ["right", "breath", false]],
    ["Lie on your left side with your right arm up.", ["left", "lie", true], ["right", "arm", true]],
    ["Your knee is good, lie on your right side.", ["right", "lie", false]],
    ["Lie on your left side and lift the left arm.", ["left", "lie", true], ["left", "arm", false]],
    // Two words that are no side elsewhere.
    ["Lie on the right now", ["right", "lie", false]],
    ["Turn round. Lie on the right.\nRight arm up", ["right", "lie", false], ["right", "arm", true]],
  ])("%s", (text, ...expected) => {
    expect(read(text)).toEqual(expected);
    // The mirror-image child: the same words say the contrary.
    expect(read(text, mirrorSetup(SETUP))).toEqual(expected.map(([side, about, agrees]) => [side, about, !agrees]));
  });

  test("naming a side disagrees where the set-up names none", () => {
    expect(read("Breathe into your left ribs.", NO_BREATH)).toEqual([["left", "breath", false]]);
    expect(read("Put the bags under the left.", { ...SETUP, prop: null })).toEqual([["left", "prop", false]]);
  });
});

describe("what nobody can tell from the words is said to be so", () => {
  test.each<[string, string, string]>([
    ["Put the bags right under the apex.", "right", "unknown"],
    ["Your top arm is just fine, your left arm too.", "left", "arm"],
    ["Your left arm looks tired.", "left", "arm"],
    ["Your upper right arm", "right", "arm"],
    ["Do not lie on your right side.", "right", "lie"],
    ["You are lying on your right side.", "right", "lie"],
    ["Lie on the other side, not the right.", "right", "unknown"],
    ["In the photo your right arm is up.", "right", "arm"],
    ["Move the bags a bit to the right.", "right", "unknown"],
    ["The bags are flat: lie on your right side.", "right", "unknown"],
    ["Look right down the mat", "right", "unknown"],
    ["Turn to the left", "left", "unknown"],
    ["Roll right", "right", "unknown"],
    ["You left the bags too high.", "left", "unknown"],
    ["Reach long with the right leg.", "right", "leg"],
    ["Get it right.", "right", "unknown"],
    ["Two weeks left.", "left", "unknown"],
    ["Look leftwards", "left", "unknown"],
    ["left", "left", "unknown"],
  ])("%s", (text, side, about) => {
    expect(read(text)).toEqual([[side, about, "cannot-tell"]]);
  });
});

test.each([
  "All right, well done.", "Do it right away.", "Start right now", "That's right!", "Bend it to a right angle.",
  "Air left over", "No copyright, no bright light, leftover", "Just right",
])("no side at all: %s", (text) => {
  expect(typedSides(text, SETUP)).toEqual([]);
});

test("'all right' before a body part is a side", () => {
  expect(read("all right arm up")).toEqual([["right", "arm", true]]);
});

test("says where the word stands", () => {
  const text = "😀 Lie on your LEFT side";
  const [found] = typedSides(text, SETUP);
  expect(found && text.slice(found.start, found.end)).toBe("LEFT");
});

test("for the mirror-image child every judgement turns, whatever the words, and no doubt becomes one", () => {
  const vocabulary = (
    "left right lie on onto your the side top bottom arm leg elbow bent straight bags under breathe into ribs not and all now " +
    "over ( ) , . : are lying up down of with move shoulder blade"
  ).split(" ");
  fc.assert(
    fc.property(fc.array(fc.constantFrom(...vocabulary), { maxLength: 14 }), (words) => {
      const text = words.join(" ");
      const there = typedSides(text, SETUP);
      const turned = there.map((each) => ({ ...each, agrees: each.agrees === "cannot-tell" ? each.agrees : !each.agrees }));
      expect(typedSides(text, mirrorSetup(SETUP))).toEqual(turned);
    }),
    { numRuns: 2000 },
  );
});

test("a plain side is never lost: only an idiom leaves a word out", () => {
  fc.assert(
    fc.property(fc.constantFrom("left", "right"), fc.constantFrom("arm", "leg", "side", "knee", "elbow"), fc.lorem(), (side, part, before) => {
      expect(typedSides(`${before} your ${side} ${part}`, SETUP)).toHaveLength(1);
    }),
  );
});
