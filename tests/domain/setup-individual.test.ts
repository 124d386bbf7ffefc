import { describe, expect, test } from "vitest";
import { checkIndividualSetup, type IndividualDraft } from "@/lib/domain/setup/individual";
import { SIDE_LYING } from "@/lib/domain/setup/side-lying";

const DRAFT: IndividualDraft = {
  lieOn: "left",
  lieOnAgain: "left",
  prop: { kind: "folded-towel", side: "left", place: "ribs" },
  topArm: "up",
  bottomArm: "long-palm-down",
  topLeg: "straight",
  bottomLeg: "knee-bent",
  breatheInto: "right",
  breath: "widen-upper-back",
  movement: "leg-reach",
  activation: null,
  items: ["prop-apex-spot", "elbow-high", "head-neck", "leg-reach", "shoulder-blade-forward"],
  reason: "Thoracic curve alone, agreed at the visit.",
};
const check = (change: Partial<IndividualDraft> = {}) => checkIndividualSetup({ ...DRAFT, ...change }, SIDE_LYING);

test("is the therapist's, with the sides that follow from the side down and its stop items unasked", () => {
  const result = check();
  if (!result.ok) throw new Error(result.problem.code);
  expect(result.value).toMatchObject({
    coverage: "adapted", variation: "individual", phases: ["position", "movement"],
    setup: {
      lieOn: "left", prop: { side: "left", place: "ribs" }, topArm: { side: "right" }, bottomArm: { side: "left" },
      topLeg: { side: "right" }, bottomLeg: { side: "left" }, breatheInto: { side: "right" },
    },
  });
  // Side down and prop were not picked; the shoulder blade was, but this movement has none.
  expect(result.value.items.map((item) => item.key)).toEqual(["side-down", "prop-ribs", "prop-apex-spot", "head-neck", "elbow-high", "leg-reach"]);
});

test("has no prop items without a prop", () => {
  const result = check({ prop: null, items: ["prop-apex-spot"] });
  expect(result.ok && result.value.items.map((item) => item.key)).toEqual(["side-down"]);
});

describe("is refused", () => {
  test.each<[string, Partial<IndividualDraft>, string, string]>([
    ["without a side", { lieOn: null }, "record-incomplete", "lieOn"],
    ["without the side said again", { lieOnAgain: null }, "side-not-read-back", "lieOnAgain"],
    ["when the side said again is the other", { lieOnAgain: "right" }, "side-not-read-back", "lieOnAgain"],
    ["without a reason", { reason: "   no    " }, "reason-missing", "reason"],
    ["with the prop on top", { prop: { kind: "two-small-bags", side: "right", place: "low-back" } }, "setup-inconsistent", "prop"],
    ["with a breath to one side and no side", { breatheInto: null }, "setup-inconsistent", "breatheInto"],
    ["with a side and a breath to none", { breath: "slow-ribs-wide" }, "setup-inconsistent", "breatheInto"],
    ["with shoulder-blade work and the hand on the hip", { topArm: "on-hip", movement: "blade-slide-and-leg-reach" }, "setup-inconsistent", "topArm"],
    ["with a stool and the hand on the hip", { topArm: "on-hip", activation: "press-stool", items: ["stool-steady"] }, "setup-inconsistent", "topArm"],
    ["with a stool and nothing to judge it by", { activation: "press-stool" }, "setup-inconsistent", "items"],
    ["with an item nobody knows", { items: ["hop"] }, "form-invalid", "items"],
  ])("%s", (_name, change, code, field) => expect(check(change)).toEqual({ ok: false, problem: { code, field } }));
});
