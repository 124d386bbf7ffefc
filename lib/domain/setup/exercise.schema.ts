import { z } from "zod";
import { REGIONS } from "@/lib/domain/curve/region";
import {
  ACTIVATIONS, BOTTOM_ARM_POSITIONS, BOTTOM_LEG_POSITIONS, BREATHS, MOVEMENTS, PROP_KINDS, PROP_PLACES,
  TOP_ARM_POSITIONS, TOP_LEG_POSITIONS, type Exercise,
} from "@/lib/domain/setup/exercise";
import type { CoveredResolution } from "@/lib/domain/setup/resolve";
import { isPossible } from "@/lib/domain/setup/setup-sides";
import { EVIDENCE, PHASES, VIEWS } from "@/lib/domain/setup/vocabulary";
import { SIDES } from "@/lib/domain/sides";

const key = z.string().regex(/^[a-z0-9-]{1,64}$/);
const side = z.enum(SIDES);
const region = z.enum(REGIONS);
const curveSide = z.templateLiteral([region, "-", z.enum(["convex", "concave"])]);
const presence = z.enum(["curve", "none"]);
const isWithoutRepeats = (each: readonly unknown[]) => new Set(each).size === each.length;

const item = z.strictObject({
  key,
  phase: z.enum(PHASES),
  requiredForGo: z.boolean(),
  evidence: z.array(z.enum(EVIDENCE)).min(1).refine(isWithoutRepeats),
  views: z.array(z.enum(VIEWS)).min(1).refine(isWithoutRepeats),
  isStop: z.boolean(),
  sideDependent: z.boolean(),
});
const items = z.array(item).min(1).refine((each) => isWithoutRepeats(each.map((one) => one.key)));
const phases = z.array(z.enum(PHASES)).min(1).refine((each) => each[0] === "position" && isInOrder(each));
const dose = z.strictObject({ breaths: z.int().min(1).max(20), times: z.int().min(1).max(20) });

/** In the order a child goes through them, none twice. */
const isInOrder = (each: readonly (typeof PHASES)[number][]) =>
  each.every((phase, index) => index === 0 || PHASES.indexOf(phase) > PHASES.indexOf(each[index - 1] ?? phase));

const positions = {
  topArm: z.enum(TOP_ARM_POSITIONS),
  bottomArm: z.enum(BOTTOM_ARM_POSITIONS),
  topLeg: z.enum(TOP_LEG_POSITIONS),
  bottomLeg: z.enum(BOTTOM_LEG_POSITIONS),
};
const how = { breath: z.enum(BREATHS), movement: z.enum(MOVEMENTS), activation: z.enum(ACTIVATIONS).nullable() };
const prop = { kind: z.enum(PROP_KINDS), place: z.enum(PROP_PLACES) };

const variation = z
  .strictObject({
    key,
    coverage: z.enum(["covered", "adapted"]),
    when: z.strictObject({ "proximal-thoracic": presence, thoracic: presence, thoracolumbar: presence, lumbar: presence }),
    opposite: z.array(z.tuple([region, region])),
    lieOn: curveSide,
    prop: z.strictObject(prop).nullable(),
    ...positions,
    breatheInto: curveSide.nullable(),
    ...how,
    phases,
    items: z.array(key).min(1).refine(isWithoutRepeats),
  })
  // A rule may only name a curve that its own condition asks for.
  .refine(({ when, lieOn, breatheInto, opposite }) =>
    REGIONS.every(
      (each) =>
        when[each] === "curve" ||
        !([lieOn, breatheInto].some((rule) => rule === `${each}-convex` || rule === `${each}-concave`) ||
          opposite.some((pair) => pair.includes(each))),
    ),
  )
  .refine((each) => (each.activation !== null) === each.phases.includes("activation"));

/** An exercise as data, version by version. Refused as a whole when anything in it is not exactly one. */
export const ExerciseForm: z.ZodType<Exercise> = z
  .strictObject({ key, version: z.int().min(1), titleKey: key, phases, items, variations: z.array(variation).min(1), dose })
  .refine((exercise) => isWithoutRepeats(exercise.variations.map((each) => each.key)))
  .refine((exercise) =>
    exercise.variations.every((each) => {
      const own = exercise.items.filter((one) => each.items.includes(one.key));
      return (
        own.length === each.items.length &&
        own.every((one) => each.phases.includes(one.phase)) &&
        each.phases.every((phase) => exercise.phases.includes(phase)) &&
        own.some((one) => one.isStop)
      );
    }),
  );

/** The stored form of a set-up as it was confirmed. */
export const StoredResolution: z.ZodType<CoveredResolution> = z
  .strictObject({
    coverage: z.enum(["covered", "adapted"]),
    variation: key,
    setup: z
      .strictObject({
        lieOn: side,
        prop: z.strictObject({ ...prop, side }).nullable(),
        topArm: z.strictObject({ side, position: positions.topArm }),
        bottomArm: z.strictObject({ side, position: positions.bottomArm }),
        topLeg: z.strictObject({ side, position: positions.topLeg }),
        bottomLeg: z.strictObject({ side, position: positions.bottomLeg }),
        breatheInto: z.strictObject({ side }).nullable(),
      })
      .refine(isPossible),
    ...how,
    items,
    phases,
    dose,
  })
  .refine((resolution) => resolution.items.every((one) => resolution.phases.includes(one.phase)));
