import { describe, expect, test } from "vitest";
import { goAhead } from "@/lib/domain/setup/go-ahead";
import type { GoAheadFacts } from "@/lib/domain/setup/go-ahead-facts";
import type { CurveRecord } from "@/lib/domain/curve/record";
import { resolve } from "@/lib/domain/setup/resolve";
import { sidesKey } from "@/lib/domain/setup/setup-sides";
import { SIDE_LYING } from "@/lib/domain/setup/side-lying";
import { strongest } from "@/lib/domain/setup/go-ahead-reasons";
import { PHASES, type Phase } from "@/lib/domain/setup/vocabulary";
import { allInPlace, DAY, facts, HOUR, MONDAY, POSITION_KEYS, said } from "@/tests/domain/go-ahead-scene";

// Expected values are PRODUCT.md section 3, "The go-ahead", read row by row.

const NOW = MONDAY + 10 * DAY;
const at = (given: GoAheadFacts, phase: Phase = "position", now = NOW) => goAhead(given, phase, now);
const codes = (given: GoAheadFacts, phase: Phase = "position", now = NOW) =>
  at(given, phase, now).reasons.map((reason) => reason.code);
const confirmed = facts().setup;
if (confirmed === null) throw new Error("the scene has a set-up");
const open = (phase: Phase, openedAt: number) => ({ phase, openedAt, openedBy: "therapist" });

describe("go", () => {
  test("every required item in place, said by whom and when", () => {
    expect(at(facts({ verdicts: allInPlace(MONDAY + DAY) }))).toEqual({
      state: "go",
      reasons: [{ code: "all-in-place", since: MONDAY + DAY, by: "therapist" }],
      fixes: [],
      firstFixes: [],
      decidedAt: MONDAY + DAY,
      decidedBy: "therapist",
      photoChecksOff: false,
    });
  });

  test("an item that is not required may stay unseen", () => {
    const verdicts = allInPlace(MONDAY + DAY).filter((each) => each.itemKey !== "bottom-arm-long");
    expect(at(facts({ verdicts })).state).toBe("go");
  });

  test("an item that is not part of this child's exercise is not waited for", () => {
    const verdicts = [
      ...allInPlace(MONDAY + DAY).filter((each) => each.itemKey !== "elbow-high"),
      said("elbow-high", "not-part", MONDAY + DAY),
    ];
    expect(at(facts({ verdicts })).state).toBe("go");
  });

  test("seen live counts like an answer", () => {
    expect(at(facts({ verdicts: allInPlace(MONDAY + DAY, { source: "seen-live" }) })).state).toBe("go");
  });
});

describe("an item that is a stop item in one version of the exercise only", () => {
  const inPlace = allInPlace(MONDAY + DAY);

  test("stops when the set-up of now says so, whatever it was when judged", () => {
    const verdicts = [...allInPlace(MONDAY + DAY, { isStop: false }), said("side-down", "fix", MONDAY + 2 * DAY, { isStop: false })];
    expect(codes(facts({ verdicts }))[0]).toBe("stop-item-fix");
  });

  test("stops when it was one when judged, and stays so through verdicts given when it is none", () => {
    const verdicts = [
      ...inPlace,
      said("elbow-high", "fix", MONDAY + 2 * DAY, { isStop: true }),
      said("elbow-high", "not-visible", MONDAY + 3 * DAY, { isStop: false }),
    ];
    expect(codes(facts({ verdicts }))[0]).toBe("stop-item-fix");
    // An old photo does not lift it either.
    expect(at(facts({ verdicts: [...verdicts, said("elbow-high", "in-place", MONDAY + 4 * DAY, { evidenceAt: MONDAY + DAY })] })).state).toBe("stop");
  });
});

describe("photo first", () => {
  test("nothing judged yet names every item waited for", () => {
    const result = at(facts());
    expect(result.state).toBe("photo-first");
    expect(result.reasons).toContainEqual({
      code: "stop-item-never-in-place",
      since: MONDAY,
      by: "therapist",
      itemKey: "side-down",
    });
  });

  test("everything not visible never gives go, however often", () => {
    const verdicts = [1, 2, 3].flatMap((day) =>
      POSITION_KEYS.map((key) => said(key, "not-visible", MONDAY + day * DAY)),
    );
    expect(at(facts({ verdicts })).state).toBe("photo-first");
  });

  test("everything not part never gives go either", () => {
    const verdicts = POSITION_KEYS.map((key) => said(key, "not-part", MONDAY + DAY));
    expect(at(facts({ verdicts })).state).toBe("photo-first");
  });

  test("a phase with no item that is required or a stop still wants one judged photo", () => {
    const items = [{ key: "ribs-wide", phase: "position" as const, requiredForGo: false, isStop: false, sideDependent: true }];
    const given = facts({ setup: { ...confirmed, items } });
    expect(codes(given)).toEqual(["nothing-judged-lately"]);
    const unseen = facts({ setup: { ...confirmed, items }, verdicts: [said("ribs-wide", "not-visible", NOW - HOUR)] });
    expect(at(unseen).state).toBe("photo-first");
    const seen = facts({ setup: { ...confirmed, items }, verdicts: [said("ribs-wide", "in-place", NOW - HOUR)] });
    expect(at(seen).state).toBe("go");
  });

  test("eight weeks without a verdict, to the millisecond; not visible does not renew it", () => {
    const verdicts = [...allInPlace(MONDAY + DAY), said("elbow-high", "not-visible", MONDAY + 50 * DAY)];
    const limit = MONDAY + DAY + 8 * 7 * DAY;
    expect(at(facts({ verdicts }), "position", limit - 1).state).toBe("go");
    expect(codes(facts({ verdicts }), "position", limit)).toEqual(["nothing-judged-lately"]);
  });

  test("a weeks setting that is not a number asks for a photo", () => {
    expect(at(facts({ verdicts: allInPlace(NOW - HOUR), photoWeeks: Number.NaN })).state).toBe("photo-first");
  });
});

describe("go and fix", () => {
  test("lists the fixes, three of them first, earlier phases before later ones", () => {
    const verdicts = [
      ...allInPlace(MONDAY + DAY),
      ...["leg-reach", "bottom-arm-long", "elbow-high", "head-in-line"].map((key) => said(key, "fix", MONDAY + 3 * DAY)),
    ];
    const phasesOpened = [open("position", MONDAY), open("movement", MONDAY + 2 * DAY)];
    const result = at(facts({ verdicts, phasesOpened }), "movement");
    expect(result.state).toBe("go-and-fix");
    expect(result.fixes).toEqual(["head-in-line", "elbow-high", "bottom-arm-long", "leg-reach"]);
    expect(result.firstFixes).toEqual(["head-in-line", "elbow-high", "bottom-arm-long"]);
  });

  test("a new leg close-up does not erase an open elbow fix", () => {
    const verdicts = [
      ...allInPlace(MONDAY + DAY),
      said("elbow-high", "fix", MONDAY + 2 * DAY),
      said("leg-reach", "in-place", MONDAY + 5 * DAY),
      said("elbow-high", "not-visible", MONDAY + 5 * DAY),
    ];
    expect(at(facts({ verdicts }))).toMatchObject({ state: "go-and-fix", fixes: ["elbow-high"] });
  });

  test("an old photo may end a fix that is no stop", () => {
    const verdicts = [
      ...allInPlace(MONDAY + DAY),
      said("elbow-high", "fix", MONDAY + 2 * DAY),
      said("elbow-high", "in-place", MONDAY + 3 * DAY, { evidenceAt: null }),
    ];
    expect(at(facts({ verdicts })).state).toBe("go");
  });
});

describe("stop by an item", () => {
  const stopAt = MONDAY + 2 * DAY;
  const stopped = [...allInPlace(MONDAY + DAY), said("side-down", "fix", stopAt)];
  const after = (...more: Parameters<typeof said>[]) => facts({ verdicts: [...stopped, ...more.map((one) => said(...one))] });

  test("stands, with its item, its date and who decided", () => {
    expect(at(after())).toMatchObject({
      state: "stop",
      reasons: [{ code: "stop-item-fix", since: stopAt, by: "therapist", itemKey: "side-down" }],
      fixes: [],
      decidedAt: stopAt,
      decidedBy: "therapist",
    });
  });

  test("a photo taken after the stop lifts it; one taken before, or at the same instant, does not", () => {
    const judged = stopAt + DAY;
    expect(at(after(["side-down", "in-place", judged, { evidenceAt: stopAt + 1 }])).state).toBe("go");
    expect(at(after(["side-down", "in-place", judged, { evidenceAt: stopAt }])).state).toBe("stop");
    expect(at(after(["side-down", "in-place", judged, { evidenceAt: stopAt - HOUR }])).state).toBe("stop");
  });

  test("a photo of unknown time never lifts it, nor one from a clock running ahead", () => {
    const judged = stopAt + DAY;
    expect(at(after(["side-down", "in-place", judged, { evidenceAt: null }])).state).toBe("stop");
    expect(at(after(["side-down", "in-place", judged, { evidenceAt: judged + 1 }])).state).toBe("stop");
  });

  test("seen live after it lifts it; seen live before it does not", () => {
    const live = { source: "seen-live" as const };
    expect(at(after(["side-down", "in-place", stopAt + DAY, { ...live, evidenceAt: stopAt + HOUR }])).state).toBe("go");
    expect(at(after(["side-down", "in-place", stopAt + DAY, { ...live, evidenceAt: stopAt - HOUR }])).state).toBe("stop");
  });

  test("not visible, not part and another stop item in place do not lift it", () => {
    expect(at(after(["side-down", "not-visible", stopAt + DAY])).state).toBe("stop");
    expect(at(after(["side-down", "not-part", stopAt + DAY])).state).toBe("stop");
    expect(at(after(["prop-place", "in-place", stopAt + DAY])).state).toBe("stop");
  });

  test("a second stop needs its own newer photo", () => {
    const second = stopAt + 2 * DAY;
    const twice = (evidenceAt: number) =>
      after(["side-down", "fix", second], ["side-down", "in-place", second + DAY, { evidenceAt }]);
    expect(at(twice(second - HOUR)).state).toBe("stop");
    expect(at(twice(second + HOUR)).state).toBe("go");
  });

  test("verdicts count in the order they were recorded, not in the order they are handed over", () => {
    const lifted = after(["side-down", "in-place", stopAt + DAY]).verdicts;
    expect(at(facts({ verdicts: lifted.toReversed() })).state).toBe("go");
    expect(at(facts({ verdicts: stopped.toReversed() })).state).toBe("stop");
  });

  test("of the position it stops every phase, opened or not", () => {
    for (const phase of ["position", "breath", "movement", "activation"] as const) {
      expect(at(after(), phase).state).toBe("stop");
    }
  });

  test("of several, the newest is named first, whatever its item's place in the list", () => {
    const later = after(["prop-place", "fix", stopAt + DAY]);
    expect(at(later)).toMatchObject({ state: "stop", decidedAt: stopAt + DAY, reasons: [{ itemKey: "prop-place" }, { itemKey: "side-down" }] });
    const earlier = after(["prop-place", "fix", stopAt + DAY], ["side-down", "fix", stopAt + 2 * DAY]);
    expect(at(earlier)).toMatchObject({ decidedAt: stopAt + 2 * DAY, reasons: [{ itemKey: "side-down" }, { itemKey: "prop-place" }] });
  });

  test("outlives its set-up, a new record and an item list without it", () => {
    expect(at({ ...after(), setup: null }).state).toBe("stop");
    expect(at({ ...after(), record: null }).state).toBe("stop");
    expect(at({ ...after(), setup: { ...confirmed, items: [] } }).state).toBe("stop");
  });
});

describe("stop by symptoms and by staff", () => {
  const good = { verdicts: allInPlace(NOW - HOUR) };
  const symptom = (tier: "urgent" | "today", clearedAt: number | null = null) => ({
    id: tier,
    tier,
    reportedAt: MONDAY + 3 * DAY,
    clearedAt,
  });

  test("a symptom stops every phase until its clearance", () => {
    expect(at(facts({ ...good, symptomStops: [symptom("today")] })).state).toBe("stop");
    expect(at(facts({ ...good, symptomStops: [symptom("today")] }), "breath").state).toBe("stop");
    expect(at(facts({ ...good, symptomStops: [symptom("today", NOW - HOUR)] })).state).toBe("go");
  });

  test("no photo clears it, and no visit", () => {
    const verdicts = [...allInPlace(NOW - HOUR), ...allInPlace(NOW - 1, { source: "seen-live" })];
    expect(at(facts({ verdicts, symptomStops: [symptom("today")] })).state).toBe("stop");
  });

  test("the urgent one is named first", () => {
    const symptomStops = [symptom("today"), symptom("urgent")];
    expect(codes(facts({ ...good, symptomStops }))).toEqual(["symptom-urgent", "symptom-today"]);
  });

  test("of several of one kind the newest is named first", () => {
    const symptomStops = [3, 5, 4].map((day) => ({ ...symptom("today"), id: `day-${day}`, reportedAt: MONDAY + day * DAY }));
    const staffStops = [3, 5, 4].map((day) => ({
      id: `day-${day}`, placedAt: MONDAY + day * DAY, placedBy: "lead", liftedAt: null, exerciseKey: null,
    }));
    const named = at(facts({ ...good, symptomStops, staffStops })).reasons.map((reason) => "stopId" in reason && reason.stopId);
    expect(named).toEqual(["day-5", "day-4", "day-3", "day-5", "day-4", "day-3"]);
  });

  test("a stop the therapist placed holds for its exercise, or for all, until lifted", () => {
    const placed = (exerciseKey: string | null, liftedAt: number | null = null) =>
      facts({
        ...good,
        staffStops: [{ id: "s", placedAt: MONDAY + DAY, placedBy: "lead", liftedAt, exerciseKey }],
      });
    expect(at(placed("side-lying"))).toMatchObject({ state: "stop", decidedBy: "lead", decidedAt: MONDAY + DAY });
    expect(at(placed(null)).state).toBe("stop");
    expect(at(placed("another")).state).toBe("go");
    expect(at(placed(null, NOW - HOUR)).state).toBe("go");
  });
});

describe("not yet", () => {
  const good = { verdicts: allInPlace(NOW - HOUR) };

  test.each<[string, Partial<GoAheadFacts>, string]>([
    ["no current record", { record: null }, "no-record"],
    ["no set-up", { setup: null }, "setup-not-confirmed"],
    ["a proposed set-up", { setup: { ...confirmed, confirmedAt: null } }, "setup-not-confirmed"],
    ["a record newer than the set-up", { record: { id: "record-2", reassessBy: null } }, "record-changed"],
    ["a record the rules refuse", { notCovered: true }, "not-covered"],
    ["a set-up that is not covered", { setup: { ...confirmed, coverage: "not-covered" } }, "not-covered"],
    ["a phase nobody opened", { phasesOpened: [] }, "phase-not-opened"],
    ["a phase this child does not have", { setup: { ...confirmed, phases: ["breath"] } }, "phase-absent"],
  ])("%s", (_name, change, code) => {
    const given = facts({ ...good, ...change });
    expect(at(given).state).toBe("not-yet");
    expect(codes(given)).toContain(code);
  });

  test("from the end of the reassessment day on", () => {
    const given = facts({ ...good, record: { id: "record-1", reassessBy: NOW } });
    expect(at(given, "position", NOW - 1).state).toBe("go");
    expect(codes(given, "position", NOW)).toEqual(["reassessment-past"]);
  });

  test("a reassessment date that is not a number counts as past", () => {
    expect(at(facts({ ...good, record: { id: "record-1", reassessBy: Number.NaN } })).state).toBe("not-yet");
  });

  test("all reasons are listed, the strongest first", () => {
    const verdicts = [said("side-down", "fix", MONDAY + DAY), said("elbow-high", "fix", MONDAY + DAY)];
    const given = facts({ verdicts, record: { id: "record-2", reassessBy: MONDAY } });
    expect(codes(given)).toEqual([
      "stop-item-fix",
      "reassessment-past",
      "record-changed",
      "stop-item-never-in-place",
      "stop-item-never-in-place",
      "required-never-judged",
      "required-never-judged",
      "item-fix",
    ]);
  });
});

describe("opening a phase", () => {
  const openedAt = MONDAY + 2 * DAY;
  const phasesOpened = [open("position", MONDAY), open("breath", openedAt)];
  const breath = (...more: Parameters<typeof said>[]) =>
    facts({ phasesOpened, verdicts: [...allInPlace(MONDAY + DAY), ...more.map((one) => said(...one))] });

  test("gives that phase its own photo first; the earlier phase keeps its go", () => {
    expect(codes(breath(), "breath")).toEqual(["phase-never-photographed"]);
    expect(at(breath()).state).toBe("go");
  });

  test("the answer that opened it, and a photo taken before, are not that photo", () => {
    expect(at(breath(["side-down", "in-place", openedAt]), "breath").state).toBe("photo-first");
    const before = breath(["side-down", "in-place", openedAt + DAY, { evidenceAt: openedAt - 1 }]);
    expect(at(before, "breath").state).toBe("photo-first");
  });

  test("a photo after the opening is, also when nobody knows when it was taken", () => {
    expect(at(breath(["side-down", "in-place", openedAt + DAY]), "breath").state).toBe("go");
    expect(at(breath(["side-down", "in-place", openedAt + DAY, { evidenceAt: null }]), "breath").state).toBe("go");
    expect(at(breath(["side-down", "not-visible", openedAt + DAY]), "breath").state).toBe("photo-first");
  });

  test("opened a second time, it asks for its photo again", () => {
    const given = breath(["side-down", "in-place", openedAt + DAY]);
    const again = [open("breath", openedAt + 2 * DAY), ...phasesOpened];
    expect(at({ ...given, phasesOpened: again }, "breath").state).toBe("photo-first");
  });

  test("a fix of the position stands in the breath too", () => {
    expect(at(breath(["elbow-high", "fix", openedAt + DAY]), "breath")).toMatchObject({
      state: "go-and-fix",
      fixes: ["elbow-high"],
    });
  });
});

describe("when the sides change", () => {
  const changedAt = MONDAY + 4 * DAY;
  const turned = { ...confirmed, sides: { key: "lies-right", since: changedAt } };
  const before = allInPlace(MONDAY + DAY);
  const underRight = { sidesKey: "lies-right" };

  test("side-dependent items start again, the others do not", () => {
    const given = facts({ setup: turned, verdicts: before });
    const waiting = at(given).reasons.flatMap((reason) => ("itemKey" in reason ? [reason.itemKey] : []));
    expect(at(given).state).toBe("photo-first");
    expect(new Set(waiting)).toEqual(new Set(["side-down", "prop-place", "elbow-high"]));
    expect(at(facts({ setup: turned, verdicts: [...before, ...allInPlace(changedAt + DAY, underRight)] })).state).toBe("go");
  });

  test("an open stop does not vanish, and the new sides can lift it", () => {
    const stop = said("side-down", "fix", MONDAY + 2 * DAY);
    expect(at(facts({ setup: turned, verdicts: [...before, stop] })).state).toBe("stop");
    const verdicts = [...before, stop, ...allInPlace(changedAt + DAY, underRight)];
    expect(at(facts({ setup: turned, verdicts })).state).toBe("go");
  });

  test("a fix that is no stop belonged to the other side", () => {
    const fix = said("bottom-arm-long", "fix", MONDAY + 2 * DAY);
    const since = allInPlace(changedAt + DAY, underRight).filter((each) => each.itemKey !== "bottom-arm-long");
    expect(at(facts({ setup: turned, verdicts: [...before, fix, ...since] }))).toMatchObject({ state: "go", fixes: [] });
  });

  test("a verdict for other sides never counts, whenever it was given", () => {
    const verdicts = allInPlace(changedAt + DAY, { sidesKey: "lies-left" });
    expect(at(facts({ setup: turned, verdicts })).state).toBe("photo-first");
  });

  test("there and back again does not revive the old verdicts", () => {
    const back = { ...confirmed, sides: { key: "lies-left", since: changedAt } };
    expect(at(facts({ setup: back, verdicts: before })).state).toBe("photo-first");
  });
});

describe("consent withdrawn", () => {
  test("photo checks are off, open stops stay, and nothing gets weaker", () => {
    const verdicts = [...allInPlace(MONDAY + DAY), said("side-down", "fix", MONDAY + 2 * DAY)];
    expect(at(facts({ verdicts, photoConsent: "withdrawn" }))).toMatchObject({ state: "stop", photoChecksOff: true });
    expect(at(facts({ photoConsent: "withdrawn" }))).toMatchObject({ state: "photo-first", photoChecksOff: true });
    expect(at(facts({ photoConsent: "never" })).photoChecksOff).toBe(false);
  });
});

describe("with the built-in exercise", () => {
  const curve = (convexSide: "left" | "right", apex: "T9" | "L2") =>
    ({ state: "curve", convexSide, apex, cobbDegrees: 20 }) as const;
  const record = (thoracic: CurveRecord["regions"]["thoracic"], lumbar: CurveRecord["regions"]["lumbar"]): CurveRecord => ({
    assessedOn: "2026-03-01",
    source: "radiograph",
    filmViewedFrom: "behind",
    regions: { "proximal-thoracic": { state: "none" }, thoracic, thoracolumbar: { state: "none" }, lumbar },
    prominence: { ribs: "not-looked", lowBack: "not-looked" },
    reassessBy: null,
    therapistCounts: [],
  });
  const factsFor = (given: CurveRecord) => {
    const resolution = resolve(SIDE_LYING, given);
    if (resolution.coverage === "not-covered") throw new Error("this record is covered");
    const { coverage, items, phases, setup } = resolution;
    const key = sidesKey(setup);
    const verdicts = items.map((item) => ({ ...said(item.key, "in-place", MONDAY + 3 * DAY, { sidesKey: key }), isStop: item.isStop }));
    return facts({
      setup: { ...confirmed, coverage, items, phases, sides: { key, since: MONDAY } },
      phasesOpened: PHASES.map((phase) => open(phase, MONDAY + DAY)),
      verdicts,
    });
  };
  const rightLeft = factsFor(record(curve("right", "T9"), curve("left", "L2")));
  const leftRight = factsFor(record(curve("left", "T9"), curve("right", "L2")));
  const lumbarAlone = factsFor(record({ state: "none" }, curve("left", "L2")));

  test("all in place is go in every phase; lumbar alone has no activation", () => {
    for (const phase of PHASES) expect(at(rightLeft, phase).state).toBe("go");
    expect(at(lumbarAlone, "movement").state).toBe("go");
    expect(codes(lumbarAlone, "activation")).toEqual(["phase-absent"]);
  });

  test("what was in place for one side is not in place for its mirror image", () => {
    expect(at({ ...leftRight, verdicts: rightLeft.verdicts }).state).toBe("photo-first");
    expect(at(leftRight).state).toBe("go");
  });

  test("an item only a clip or a visit can show is never waited for", () => {
    const verdicts = rightLeft.verdicts.filter((each) => each.itemKey !== "ribs-wide");
    expect(at({ ...rightLeft, verdicts }, "breath").state).toBe("go");
  });
});

test("the strongest of several go-aheads; with none, nothing is allowed", () => {
  expect(strongest(["go", "stop", "photo-first"])).toBe("stop");
  expect(strongest(["go", "go-and-fix"])).toBe("go-and-fix");
  expect(strongest(["not-yet", "photo-first"])).toBe("not-yet");
  expect(strongest(["go"])).toBe("go");
  expect(strongest([])).toBe("not-yet");
});
