import { z } from "zod";
import { REGIONS } from "@/lib/domain/curve/region";
import {
  BOTTOM_ARM_POSITIONS, BOTTOM_LEG_POSITIONS, PROP_KINDS, PROP_PLACES, TOP_ARM_POSITIONS, TOP_LEG_POSITIONS, type Exercise,
} from "@/lib/domain/setup/exercise";
import type { CoveredResolution } from "@/lib/domain/setup/resolve";
import { EVIDENCE, PHASES, VIEWS } from "@/lib/domain/setup/vocabulary";
import { SIDES } from "@/lib/domain/sides";

const Key = z.string().regex(/^[a-z][a-z0-9-]{1,40}$/);
const Item = z.strictObject({
  key: Key,
  phase: z.enum(PHASES),
  requiredForGo: z.boolean(),
  evidence: z.array(z.enum(EVIDENCE)).min(1),
  views: z.array(z.enum(VIEWS)),
  isStop: z.boolean(),
  sideDependent: z.boolean(),
});
const SideRule = z.strictObject({ region: z.enum(REGIONS), is: z.enum(["convex", "concave"]) });
const Needed = z.enum(["curve", "none"]);
const Dose = z.strictObject({ breaths: z.int().min(1).max(100), times: z.int().min(1).max(20) });

const Variation = z.strictObject({
  key: Key,
  coverage: z.enum(["covered", "adapted"]),
  regions: z.strictObject({ "proximal-thoracic": Needed, thoracic: Needed, thoracolumbar: Needed, lumbar: Needed }),
  opposed: z.array(z.tuple([z.enum(REGIONS), z.enum(REGIONS)])),
  lieOn: SideRule,
  prop: z.strictObject({ kind: z.enum(PROP_KINDS), place: z.enum(PROP_PLACES) }),
  topArm: z.enum(TOP_ARM_POSITIONS),
  bottomArm: z.enum(BOTTOM_ARM_POSITIONS),
  topLeg: z.enum(TOP_LEG_POSITIONS),
  bottomLeg: z.enum(BOTTOM_LEG_POSITIONS),
  breatheInto: SideRule.nullable(),
  phases: z.array(z.enum(PHASES)).min(1),
  items: z.array(Key).min(1),
});

/** An exercise as data. Refuses one whose rules name an absent curve, an unknown item, or no stop item. */
export const ExerciseForm: z.ZodType<Exercise> = z
  .strictObject({ key: Key, version: z.int().min(1), dose: Dose, items: z.array(Item).min(1), variations: z.array(Variation).min(1) })
  .superRefine((exercise, context) => {
    const known = new Map(exercise.items.map((item) => [item.key, item]));
    for (const [index, variation] of exercise.variations.entries()) {
      const say = (message: string) => context.addIssue({ code: "custom", message, path: ["variations", index] });
      const rules = [variation.lieOn, variation.breatheInto].filter((rule) => rule !== null);
      const named = [...rules.map((rule) => rule.region), ...variation.opposed.flat()];
      if (named.some((region) => variation.regions[region] !== "curve")) say("a rule names a curve this variation is not for");
      if (variation.items.some((key) => !known.has(key))) say("unknown item");
      if (!variation.items.some((key) => known.get(key)?.isStop)) say("no stop item");
      if (variation.items.some((key) => !variation.phases.includes(known.get(key)?.phase ?? "position"))) say("an item of an absent phase");
    }
  });

const At = <P extends string>(positions: readonly [P, ...P[]]) => z.strictObject({ side: z.enum(SIDES), position: z.enum(positions) });

/** A resolved set-up as stored with its confirmation. */
export const StoredResolution: z.ZodType<CoveredResolution> = z.strictObject({
  coverage: z.enum(["covered", "adapted"]),
  variation: z.string(),
  setup: z.strictObject({
    lieOn: z.enum(SIDES),
    prop: z.strictObject({ kind: z.enum(PROP_KINDS), place: z.enum(PROP_PLACES), side: z.enum(SIDES) }),
    topArm: At(TOP_ARM_POSITIONS),
    bottomArm: At(BOTTOM_ARM_POSITIONS),
    topLeg: At(TOP_LEG_POSITIONS),
    bottomLeg: At(BOTTOM_LEG_POSITIONS),
    breatheInto: z.strictObject({ side: z.enum(SIDES) }).nullable(),
  }),
  phases: z.array(z.enum(PHASES)),
  items: z.array(Item),
  dose: Dose,
});
