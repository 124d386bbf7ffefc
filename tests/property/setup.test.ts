import * as fc from "fast-check";
import { describe, expect, test } from "vitest";
import { mirrorRecord, type CurveRecord, type Finding } from "@/lib/domain/curve/record";
import { apexesOf, REGIONS, type Level, type Region } from "@/lib/domain/curve/region";
import { checkIndividualSetup, type IndividualDraft } from "@/lib/domain/setup/individual";
import { StoredResolution } from "@/lib/domain/setup/exercise.schema";
import { mirrorResolution, resolve } from "@/lib/domain/setup/resolve";
import { isPossible, mirrorSetup, sidesKey, type SetupSides } from "@/lib/domain/setup/setup-sides";
import { SIDE_LYING } from "@/lib/domain/setup/side-lying";
import { SIDES } from "@/lib/domain/sides";
import { RECORD } from "@/tests/domain/curve-record-scene";

const STATES = ["left", "right", "none", "not-assessed"] as const;
type State = (typeof STATES)[number];
const APEX: Readonly<Record<Region, Level>> = { "proximal-thoracic": "T3", thoracic: "T8", thoracolumbar: "T12", lumbar: "L2" };

const finding = (region: Region, state: State): Finding =>
  state === "left" || state === "right" ? { state: "curve", convexSide: state, apex: APEX[region], cobbDegrees: 25 } : { state };

type Matrix = Readonly<Record<Region, State>>;
const recordOf = (states: Matrix): CurveRecord => ({
  ...RECORD,
  regions: {
    "proximal-thoracic": finding("proximal-thoracic", states["proximal-thoracic"]),
    thoracic: finding("thoracic", states.thoracic),
    thoracolumbar: finding("thoracolumbar", states.thoracolumbar),
    lumbar: finding("lumbar", states.lumbar),
  },
});

const MATRIX: readonly Matrix[] = STATES.flatMap((proximal) =>
  STATES.flatMap((thoracic) =>
    STATES.flatMap((thoracolumbar) => STATES.map((lumbar) => ({ "proximal-thoracic": proximal, thoracic, thoracolumbar, lumbar }))),
  ),
);

describe("the full matrix of patterns", () => {
  const coverageOf = (states: Matrix) => resolve(SIDE_LYING, recordOf(states)).coverage;
  const named = (coverage: string) =>
    MATRIX.filter((states) => coverageOf(states) === coverage).map((states) => REGIONS.map((region) => states[region]).join(" "));

  test("has 256 patterns, of which two are covered, two adapted and 252 refused", () => {
    expect(MATRIX).toHaveLength(256);
    // Proximal thoracic, thoracic, thoracolumbar, lumbar: the table of the exercise (common practice, no source).
    expect(named("covered")).toEqual(["none left none right", "none right none left"]);
    expect(named("adapted")).toEqual(["none none none left", "none none none right"]);
    expect(named("not-covered")).toHaveLength(252);
  });

  test("every refusal says why, and a region not assessed is always among the reasons", () => {
    for (const states of MATRIX) {
      const resolution = resolve(SIDE_LYING, recordOf(states));
      if (resolution.coverage !== "not-covered") continue;
      const isOpen = REGIONS.some((region) => states[region] === "not-assessed");
      expect(resolution.reasons.length).toBeGreaterThan(0);
      expect(resolution.reasons.includes("not-assessed")).toBe(isOpen);
      expect(resolution).not.toHaveProperty("setup");
    }
  });

  test("a curve that needs the therapist's word and lacks it refuses the whole set-up", () => {
    for (const states of MATRIX) {
      const record = recordOf(states);
      const small: CurveRecord = { ...record, regions: { ...record.regions, lumbar: finding("lumbar", states.lumbar) } };
      if (small.regions.lumbar.state !== "curve") continue;
      for (const cobbDegrees of [9.9, null]) {
        const under = { ...small, regions: { ...small.regions, lumbar: { ...small.regions.lumbar, cobbDegrees } } };
        const refused = resolve(SIDE_LYING, under);
        expect(refused.coverage).toBe("not-covered");
        expect(resolve(SIDE_LYING, { ...under, therapistCounts: ["lumbar"] })).toEqual(resolve(SIDE_LYING, record));
      }
    }
  });
});

const anyFinding = (region: Region): fc.Arbitrary<Finding> =>
  fc.oneof(
    fc.constant<Finding>({ state: "none" }),
    fc.constant<Finding>({ state: "not-assessed" }),
    fc.record({
      state: fc.constant("curve" as const),
      convexSide: fc.constantFrom(...SIDES),
      apex: fc.constantFrom(...apexesOf(region)),
      cobbDegrees: fc.option(fc.integer({ min: 1, max: 90 })),
    }),
  );
const prominence = fc.constantFrom("left", "right", "none", "not-looked");
const anyRecord: fc.Arbitrary<CurveRecord> = fc.record({
  assessedOn: fc.constant("2026-02-10"),
  source: fc.constantFrom("radiograph", "other-imaging"),
  filmViewedFrom: fc.constantFrom("behind", "front"),
  regions: fc.record({
    "proximal-thoracic": anyFinding("proximal-thoracic"), thoracic: anyFinding("thoracic"),
    thoracolumbar: anyFinding("thoracolumbar"), lumbar: anyFinding("lumbar"),
  }),
  prominence: fc.record({ ribs: prominence, lowBack: prominence }),
  reassessBy: fc.constant(null),
  therapistCounts: fc.subarray([...REGIONS]),
});

describe("mirror images", () => {
  test("the mirrored record gives exactly the mirrored set-up", () => {
    for (const states of MATRIX) {
      const record = recordOf(states);
      expect(resolve(SIDE_LYING, mirrorRecord(record))).toEqual(mirrorResolution(resolve(SIDE_LYING, record)));
    }
    fc.assert(
      fc.property(anyRecord, (record) => {
        expect(resolve(SIDE_LYING, mirrorRecord(record))).toEqual(mirrorResolution(resolve(SIDE_LYING, record)));
      }),
    );
  });

  test("the mirror exchanges the words left and right and changes nothing else", () => {
    // Not by the code's own mirror: by exchanging the words in its JSON.
    const exchange = (value: unknown): unknown =>
      JSON.parse(JSON.stringify(value).replaceAll(/"(left|right)"/g, (_all, side: string) => (side === "left" ? '"right"' : '"left"')));
    fc.assert(
      fc.property(anyRecord, (record) => {
        expect(mirrorRecord(record)).toEqual(exchange(record));
        const resolution = resolve(SIDE_LYING, record);
        expect(mirrorResolution(resolution)).toEqual(exchange(resolution));
        expect(mirrorRecord(mirrorRecord(record))).toEqual(record);
      }),
    );
  });
});

const side = fc.constantFrom(...SIDES);
const anySetup: fc.Arbitrary<SetupSides> = fc
  .record({ lieOn: side, prop: fc.option(fc.constantFrom("low-back" as const, "ribs" as const)), breath: fc.option(side), arm: fc.constantFrom("up" as const, "on-hip" as const) })
  .map(({ lieOn, prop, breath, arm }) => {
    const top = lieOn === "left" ? ("right" as const) : ("left" as const);
    return {
      lieOn,
      prop: prop && { kind: "two-small-bags", side: lieOn, place: prop },
      topArm: { side: top, position: arm }, bottomArm: { side: lieOn, position: "long-palm-down" },
      topLeg: { side: top, position: "straight" }, bottomLeg: { side: lieOn, position: "knee-bent" },
      breatheInto: breath && { side: breath },
    };
  });

describe("the key of the sides", () => {
  const facts = ({ lieOn, prop, breatheInto }: SetupSides) => [lieOn, prop?.side ?? null, breatheInto?.side ?? null].join();

  test("changes exactly when a side does", () => {
    fc.assert(
      fc.property(anySetup, anySetup, (one, other) => {
        expect(sidesKey(one) === sidesKey(other)).toBe(facts(one) === facts(other));
        expect(sidesKey(mirrorSetup(one))).not.toBe(sidesKey(one));
      }),
    );
  });
});

describe("an individual set-up", () => {
  const anyDraft: fc.Arbitrary<IndividualDraft> = fc.record({
    lieOn: fc.option(side), lieOnAgain: fc.option(side),
    prop: fc.option(fc.record({ kind: fc.constantFrom("two-small-bags", "folded-towel"), side, place: fc.constantFrom("low-back", "ribs") })),
    topArm: fc.constantFrom("up", "on-hip"), bottomArm: fc.constant("long-palm-down"), topLeg: fc.constant("straight"),
    bottomLeg: fc.constant("knee-bent"), breatheInto: fc.option(side), breath: fc.constantFrom("widen-upper-back", "slow-ribs-wide"),
    movement: fc.constantFrom("blade-slide-and-leg-reach", "leg-reach"), activation: fc.option(fc.constant("press-stool")),
    items: fc.subarray(SIDE_LYING.items.map((item) => item.key)), reason: fc.constantFrom("", "as agreed with the clinic"),
  });

  test("that is let through is possible, keeps its stop items and can be stored", () => {
    let accepted = 0;
    fc.assert(
      fc.property(anyDraft, (draft) => {
        const result = checkIndividualSetup(draft, SIDE_LYING);
        if (!result.ok) return;
        accepted += 1;
        const { setup, items, phases } = result.value;
        expect(isPossible(setup)).toBe(true);
        expect(setup.lieOn).toBe(draft.lieOnAgain);
        expect(items.filter((item) => item.isStop).map((item) => item.key)).toEqual(
          draft.prop === null ? ["side-down"] : ["side-down", draft.prop.place === "ribs" ? "prop-ribs" : "prop-low-back"],
        );
        expect(phases[0]).toBe("position");
        expect(StoredResolution.parse(JSON.parse(JSON.stringify(result.value)))).toEqual(result.value);
      }),
      { numRuns: 12_000 },
    );
    expect(accepted).toBeGreaterThan(50);
  });
});
