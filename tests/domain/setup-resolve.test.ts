import { describe, expect, test } from "vitest";
import { curve, NONE, NOT_ASSESSED, RECORD } from "@/tests/domain/curve-record-scene";
import type { CurveRecord } from "@/lib/domain/curve/record";
import type { Exercise } from "@/lib/domain/setup/exercise";
import { ExerciseForm, StoredResolution } from "@/lib/domain/setup/exercise.schema";
import { resolve, type CoveredResolution } from "@/lib/domain/setup/resolve";
import { SIDE_LYING } from "@/lib/domain/setup/side-lying";

const regions = (change: Partial<CurveRecord["regions"]>): CurveRecord => ({ ...RECORD, regions: { ...RECORD.regions, ...change } });
const covered = (record: CurveRecord): CoveredResolution => {
  const resolution = resolve(SIDE_LYING, record);
  if (resolution.coverage === "not-covered") throw new Error(resolution.reasons.join());
  return resolution;
};
const DOUBLE = covered(RECORD);
const LUMBAR = covered(regions({ thoracic: NONE }));

// Set-up and dose: common practice, no source; the table of the exercise.
describe("thoracic right with lumbar left", () => {
  test("lies on the left, bags under the left low back, right arm and right leg on top, breath to the left ribs", () => {
    expect(DOUBLE.setup).toEqual({
      lieOn: "left",
      prop: { kind: "two-small-bags", side: "left", place: "low-back" },
      topArm: { side: "right", position: "up" },
      bottomArm: { side: "left", position: "long-palm-down" },
      topLeg: { side: "right", position: "straight" },
      bottomLeg: { side: "left", position: "knee-bent" },
      breatheInto: { side: "left" },
    });
    expect(DOUBLE).toMatchObject({
      coverage: "covered", breath: "widen-upper-back", movement: "blade-slide-and-leg-reach", activation: "press-stool",
      phases: ["position", "breath", "movement", "activation"], dose: { breaths: 5, times: 4 },
    });
    expect(DOUBLE.dose.breaths * DOUBLE.dose.times).toBe(20);
  });

  test("is asked for its items in checklist order", () => {
    expect(DOUBLE.items.map((item) => item.key)).toEqual([
      "side-down", "prop-low-back", "prop-apex-spot", "stacked", "head-neck", "bottom-arm-long", "elbow-high", "armpit-open",
      "bottom-knee-bent", "top-leg-straight", "ribs-wide", "shoulder-blade-forward", "leg-reach", "stool-steady", "stool-press",
    ]);
  });
});

test("lumbar left alone lies on the left with the hand on the hip, no side for the breath, no arm or stool work", () => {
  expect(LUMBAR.setup).toMatchObject({ lieOn: "left", topArm: { side: "right", position: "on-hip" }, breatheInto: null });
  expect(LUMBAR).toMatchObject({ coverage: "adapted", breath: "slow-ribs-wide", movement: "leg-reach", activation: null, phases: ["position", "breath", "movement"] });
  expect(LUMBAR.items.map((item) => item.key)).toEqual([
    "side-down", "prop-low-back", "prop-apex-spot", "stacked", "head-neck", "bottom-arm-long", "bottom-knee-bent", "top-leg-straight", "ribs-wide", "leg-reach",
  ]);
});

describe("each item", () => {
  const item = (key: string) => DOUBLE.items.find((each) => each.key === key);

  test("that stops a child is the side down and the prop, and only those", () => {
    expect(DOUBLE.items.filter((each) => each.isStop).map((each) => each.key)).toEqual(["side-down", "prop-low-back"]);
  });

  test("says what shows it: a still cannot show a movement", () => {
    const unseen = DOUBLE.items.filter((each) => !each.evidence.includes("still"));
    expect(unseen.map((each) => each.key)).toEqual(["ribs-wide", "shoulder-blade-forward", "stool-press"]);
    // Or a family that can send photos only would never reach `go`.
    expect(unseen.some((each) => each.requiredForGo)).toBe(false);
  });

  test("says which view shows it", () => {
    expect(item("armpit-open")?.views).toEqual(["front"]);
    expect(item("prop-low-back")?.views).toEqual(["behind"]);
    expect(item("stacked")?.views).toEqual(["head-end", "behind"]);
    expect(item("side-down")?.views).toEqual(["behind", "front", "head-end", "other"]);
  });

  test("starts again with the other side, but for the head and the stool", () => {
    expect(DOUBLE.items.filter((each) => !each.sideDependent).map((each) => each.key)).toEqual(["head-neck", "stool-steady"]);
  });
});

test.each<[string, CurveRecord | null, string[]]>([
  ["no record", null, ["no-record"]],
  ["thoracic alone", regions({ lumbar: NONE }), ["thoracic-alone"]],
  ["thoracolumbar alone", regions({ thoracic: NONE, lumbar: NONE, thoracolumbar: curve("left", "T12") }), ["thoracolumbar-alone"]],
  ["proximal thoracic alone", regions({ thoracic: NONE, lumbar: NONE, "proximal-thoracic": curve("left", "T3") }), ["proximal-thoracic-alone"]],
  ["both to one side", regions({ thoracic: curve("left", "T8") }), ["same-side"]],
  ["thoracic with thoracolumbar", regions({ lumbar: NONE, thoracolumbar: curve("left", "T12") }), ["other-curves"]],
  ["three curves", regions({ "proximal-thoracic": curve("left", "T3") }), ["three-curves"]],
  ["no curve", regions({ thoracic: NONE, lumbar: NONE }), ["no-curve"]],
  ["lumbar with thoracic not assessed", regions({ thoracic: NOT_ASSESSED }), ["not-assessed"]],
  ["the double pattern with proximal thoracic not assessed", regions({ "proximal-thoracic": NOT_ASSESSED }), ["not-assessed"]],
  ["an unmeasured curve without the therapist's word", regions({ lumbar: curve("left", "L2", null) }), ["curve-not-counted"]],
  ["both", regions({ thoracolumbar: NOT_ASSESSED, lumbar: curve("left", "L2", 9) }), ["not-assessed", "curve-not-counted"]],
])("%s is not covered", (_name, record, reasons) => {
  expect(resolve(SIDE_LYING, record)).toEqual({ coverage: "not-covered", reasons });
});

test("two variations that fit the same record are nobody's choice", () => {
  const [first] = SIDE_LYING.variations;
  const twice: Exercise = { ...SIDE_LYING, variations: [...SIDE_LYING.variations, ...(first ? [{ ...first, key: "again", breatheInto: null }] : [])] };
  expect(resolve(twice, RECORD).coverage).toBe("not-covered");
});

describe("an exercise as data", () => {
  const [double, lumbar] = SIDE_LYING.variations;
  if (!double || !lumbar) throw new Error("the built-in exercise has two variations");
  const withVariation = (change: object) => ({ ...SIDE_LYING, variations: [{ ...double, ...change }, lumbar] });

  test("comes back as it was", () => {
    expect(ExerciseForm.parse(JSON.parse(JSON.stringify(SIDE_LYING)))).toEqual(SIDE_LYING);
    for (const resolution of [DOUBLE, LUMBAR]) expect(StoredResolution.parse(JSON.parse(JSON.stringify(resolution)))).toEqual(resolution);
  });

  test.each<[string, object]>([
    ["names left", withVariation({ lieOn: "left" })],
    ["names a curve its condition leaves out", withVariation({ breatheInto: "thoracolumbar-convex" })],
    ["makes opposite what is not there", withVariation({ opposite: [["thoracic", "thoracolumbar"]] })],
    ["lets not assessed fit", withVariation({ when: { ...double.when, thoracolumbar: "not-assessed" } })],
    ["has an item it does not know", withVariation({ items: [...double.items, "hop"] })],
    ["has an item of a phase it leaves out", withVariation({ activation: null, phases: ["position", "breath", "movement"] })],
    ["has no stop item", withVariation({ items: double.items.filter((key) => key !== "side-down" && key !== "prop-low-back") })],
    ["does not start with the position", withVariation({ phases: ["breath", "position", "movement", "activation"] })],
    ["has no version", { ...SIDE_LYING, version: 0 }],
    ["has an extra key", { ...SIDE_LYING, script: "x" }],
    ["has an item twice", { ...SIDE_LYING, items: [...SIDE_LYING.items, ...SIDE_LYING.items] }],
    ["has a variation twice", { ...SIDE_LYING, variations: [double, double] }],
  ])("is refused when it %s", (_name, exercise) => expect(ExerciseForm.safeParse(exercise).success).toBe(false));

  test.each<[string, object]>([
    ["puts the top arm on the side that is down", { setup: { ...DOUBLE.setup, topArm: { side: "left", position: "up" } } }],
    ["puts the bags on top", { setup: { ...DOUBLE.setup, prop: { kind: "two-small-bags", side: "right", place: "low-back" } } }],
    ["is not covered", { coverage: "not-covered" }],
    ["has an item of no phase", { phases: ["position"] }],
    ["has an extra key", { note: "x" }],
  ])("a stored set-up is refused when it %s", (_name, change) => expect(StoredResolution.safeParse({ ...DOUBLE, ...change }).success).toBe(false));
});
