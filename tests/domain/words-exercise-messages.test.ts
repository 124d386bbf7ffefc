import { describe, expect, test } from "vitest";
import type { CurveRecord } from "@/lib/domain/curve/record";
import { WARNINGS } from "@/lib/domain/curve/record-warnings";
import { REGIONS } from "@/lib/domain/curve/region";
import { ACTIVATIONS, BOTTOM_ARM_POSITIONS, BOTTOM_LEG_POSITIONS, BREATHS, MOVEMENTS, PROP_KINDS, PROP_PLACES, TOP_ARM_POSITIONS, TOP_LEG_POSITIONS } from "@/lib/domain/setup/exercise";
import { NOT_COVERED_REASONS, resolve, type CoveredResolution } from "@/lib/domain/setup/resolve";
import { mirrorSetup } from "@/lib/domain/setup/setup-sides";
import { SIDE_CHECKS } from "@/lib/domain/setup/side-check";
import { SIDE_LYING } from "@/lib/domain/setup/side-lying";
import { COVERAGES, PHASES } from "@/lib/domain/setup/vocabulary";
import { opposite, SIDES } from "@/lib/domain/sides";
import { typedSides } from "@/lib/domain/words/typed-sides";
import { say } from "@/lib/messages/say";
import { NONE, RECORD } from "@/tests/domain/curve-record-scene";

const words = say("exercise");
const covered = (record: CurveRecord): CoveredResolution => {
  const resolution = resolve(SIDE_LYING, record);
  if (resolution.coverage === "not-covered") throw new Error(resolution.reasons.join());
  return resolution;
};
const RESOLUTIONS = [covered(RECORD), covered({ ...RECORD, regions: { ...RECORD.regions, thoracic: NONE } })];

const SIDED = [
  "setup.lieOn", ...PROP_KINDS.flatMap((kind) => PROP_PLACES.map((place) => `setup.prop.${kind}.${place}`)),
  ...TOP_ARM_POSITIONS.map((each) => `setup.topArm.${each}`), ...BOTTOM_ARM_POSITIONS.map((each) => `setup.bottomArm.${each}`),
  ...TOP_LEG_POSITIONS.map((each) => `setup.topLeg.${each}`), ...BOTTOM_LEG_POSITIONS.map((each) => `setup.bottomLeg.${each}`),
  "setup.breath.widen-upper-back", ...MOVEMENTS.map((each) => `setup.movement.${each}`), ...ACTIVATIONS.map((each) => `setup.activation.${each}`),
];

describe("a set-up in words", () => {
  test.each(SIDED)("%s names the one side it is given, in capitals, and exchanges it and nothing else for the mirror image", (key) => {
    for (const side of SIDES) {
      const said = words(key, { side });
      expect(said.match(/left|right/gi)).toEqual([side.toUpperCase()]);
      expect(words(key, { side: opposite(side) })).toBe(said.replace(side.toUpperCase(), opposite(side).toUpperCase()));
    }
  });

  test("reads as a family hears it", () => {
    expect(words("setup.lieOn", { side: "left" })).toBe("Lie on the LEFT side.");
    expect(words("setup.topArm.up", { side: "right" })).toBe("Top arm (RIGHT): up, elbow high, armpit open and facing forward.");
    expect(words("setup.dose", SIDE_LYING.dose)).toBe("5 slow breaths, then rest. Do this 4 times.");
  });

  test("names no side where the set-up has none", () => {
    expect(words("setup.breath.slow-ribs-wide")).not.toMatch(/left|right/i);
    expect(words("setup.prop.none")).not.toMatch(/left|right/i);
  });

  test("agrees with the set-up it was made from, and contradicts the mirror image, by the reader of typed sides", () => {
    for (const { setup } of RESOLUTIONS) {
      const said = [
        words("setup.lieOn", { side: setup.lieOn }),
        words(`setup.topArm.${setup.topArm.position}`, { side: setup.topArm.side }),
        words(`setup.bottomArm.${setup.bottomArm.position}`, { side: setup.bottomArm.side }),
        words(`setup.topLeg.${setup.topLeg.position}`, { side: setup.topLeg.side }),
        words(`setup.bottomLeg.${setup.bottomLeg.position}`, { side: setup.bottomLeg.side }),
      ].join("\n");
      expect(typedSides(said, setup).map((each) => each.agrees)).toEqual([true, true, true, true, true]);
      expect(typedSides(said, mirrorSetup(setup)).map((each) => each.agrees)).toEqual([false, false, false, false, false]);
    }
  });
});

describe("nothing the rules can say lacks its words", () => {
  const KEYS = [
    `title.${SIDE_LYING.titleKey}`, ...PHASES.map((each) => `phases.${each}`), ...BREATHS.map((each) => `setup.breath.${each}`),
    ...SIDE_LYING.items.flatMap(({ key }) => [`items.${key}.title`, `items.${key}.question`]),
    ...[...COVERAGES, ...NOT_COVERED_REASONS, ...SIDE_LYING.variations.map((each) => each.key), "individual"].map((each) => `coverage.${each}`),
    ...SIDE_CHECKS.map((each) => `sideCheck.${each}`),
    ...WARNINGS.map((each) => `warnings.${each}`),
  ];
  // `say` throws on an unknown key.
  test.each(KEYS)("%s", (key) => {
    expect(words(key, { side: "left", seen: "left", recorded: "right", region: "lumbar" }).trim()).not.toBe("");
  });

  test("a question never asks for 'the right side' when it means the correct one", () => {
    for (const { key } of SIDE_LYING.items) expect(words(`items.${key}.question`) + words(`items.${key}.title`)).not.toMatch(/\b(left|right)\b/i);
  });

  test("each region and side of a pattern has its own words", () => {
    const said = REGIONS.flatMap((region) => SIDES.map((side) => words("pattern.curve", { region, side })));
    expect(said).toEqual([
      "proximal thoracic left", "proximal thoracic right", "thoracic left", "thoracic right",
      "thoracolumbar left", "thoracolumbar right", "lumbar left", "lumbar right",
    ]);
    expect(words("pattern.readBack", { region: "thoracic", side: "right" })).toBe("thoracic curve: bulges to the child's RIGHT");
  });

  test("a child whom the rules do not cover is told plainly not to do it", () => {
    expect(words("coverage.family", { child: "Ada", therapist: "Kim" })).toBe("This exercise is not right for Ada's back. Do not do it. Kim will tell you what to do.");
  });
});
