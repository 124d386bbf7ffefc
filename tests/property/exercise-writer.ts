import * as fc from "fast-check";
import { REGIONS, type Region } from "@/lib/domain/curve/region";
import { MOVEMENTS, PROP_KINDS, PROP_PLACES, TOP_ARM_POSITIONS, type CurveSide } from "@/lib/domain/setup/exercise";
import type { ExerciseDraft, ItemDraft, RuleDraft } from "@/lib/domain/setup/exercise-draft";
import { REGION_PAIRS } from "@/lib/domain/setup/exercise-fields";
import { EVIDENCE, PHASES, VIEWS, type Phase } from "@/lib/domain/setup/vocabulary";

const SIDE_DOWN: ItemDraft = {
  key: "side-down", title: "Side down", phase: "position", evidence: [...EVIDENCE], views: [...VIEWS], isStop: true, requiredForGo: true, sideDependent: true,
};

/** One item of each phase beside the side down, so that no phase stands without one. */
const itemsOf = (phases: readonly Phase[]): fc.Arbitrary<readonly ItemDraft[]> =>
  fc.tuple(...phases.map((phase) => fc.record({
    key: fc.constant(`in-${phase}`), title: fc.constant(`Something in ${phase}`), phase: fc.constant(phase),
    evidence: fc.subarray([...EVIDENCE], { minLength: 1 }).map((each) => EVIDENCE.filter((one) => one === "still" || each.includes(one))),
    views: fc.subarray([...VIEWS], { minLength: 1 }), isStop: fc.boolean(), requiredForGo: fc.boolean(), sideDependent: fc.boolean(),
  }))).map((items) => [SIDE_DOWN, ...items]);

/** Every condition with at least one curve. */
const CONDITIONS: readonly (readonly Region[])[] = Array.from({ length: 15 }, (_, at) => REGIONS.filter((_region, bit) => ((at + 1) >> bit) % 2 === 1));

function ruleOf(curves: readonly Region[], at: number, phases: readonly Phase[]): fc.Arbitrary<RuleDraft> {
  const side = fc.tuple(fc.constantFrom(...curves), fc.constantFrom("convex", "concave")).map(([region, kind]): CurveSide => `${region}-${kind as "convex" | "concave"}`); // one of the two above
  return fc.record({
    coverage: fc.constantFrom("covered" as const, "adapted" as const),
    opposite: fc.subarray(REGION_PAIRS.filter((pair) => pair.every((region) => curves.includes(region)))),
    lieOn: side, propKind: fc.constantFrom("none" as const, ...PROP_KINDS), propPlace: fc.constantFrom(...PROP_PLACES), topArm: fc.constantFrom(...TOP_ARM_POSITIONS),
    into: fc.option(side), movement: fc.constantFrom(...MOVEMENTS), isPressed: fc.boolean(),
  }).map(({ into, isPressed, ...rule }) => {
    const isPressing = isPressed && rule.topArm === "up" && phases.includes("activation");
    const own = phases.filter((phase) => phase !== "activation" || isPressing);
    return {
      ...rule, key: `rule-${at}`,
      when: Object.fromEntries(REGIONS.map((region) => [region, curves.includes(region) ? "curve" : "none"])) as RuleDraft["when"], // every region just above
      bottomArm: "long-palm-down", topLeg: "straight", bottomLeg: "knee-bent",
      movement: rule.topArm === "up" ? rule.movement : "leg-reach", activation: isPressing ? "press-stool" : "none",
      breath: into === null ? "slow-ribs-wide" : "widen-upper-back", breatheInto: into ?? "none",
      items: ["side-down", ...own.map((phase) => `in-${phase}`)],
    };
  });
}

/** Drafts that hold together: what they ask, in which rules, for which conditions is drawn; each condition has one rule. */
export const wholeDraft: fc.Arbitrary<ExerciseDraft> = fc
  .tuple(fc.subarray(PHASES.slice(1)), fc.subarray([...CONDITIONS], { minLength: 1, maxLength: 12 }))
  .chain(([later, conditions]) => {
    const phases: readonly Phase[] = ["position", ...later];
    return fc.record({
      title: fc.constant("An exercise"), cautions: fc.constant<readonly string[]>(["Only after a lesson in person."]),
      dose: fc.record({ breaths: fc.integer({ min: 1, max: 20 }), times: fc.integer({ min: 1, max: 20 }) }),
      items: itemsOf(phases), rules: fc.tuple(...conditions.map((curves, at) => ruleOf(curves, at, phases))), phases: fc.constant(phases),
    });
  })
  // A last phase that no rule does anything in is not taught.
  .map((draft) => (draft.rules.some((rule) => rule.activation === "press-stool") ? draft : {
    ...draft, phases: draft.phases.filter((phase) => phase !== "activation"), items: draft.items.filter((item) => item.phase !== "activation"),
  }));
