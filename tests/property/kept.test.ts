import * as fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { Kept, KeptExercise, OfflineReport, OnPhone } from "@/lib/domain/kept/kept";
import { KEPT_DAYS, keptToday } from "@/lib/domain/kept/today";
import { GO_AHEADS, type GoAheadState } from "@/lib/domain/setup/vocabulary";
import { overallOf, todayOf } from "@/lib/domain/setup/today";
import { DAY, HOUR } from "@/tests/domain/go-ahead-scene";
import { acts, play, start, type Act } from "@/tests/property/go-ahead-commands";

const rank = (state: GoAheadState) => GO_AHEADS.indexOf(state);
const CHILD = "child";

/** What a server would have handed over after these acts, as it comes out of a phone's store. */
function keptAfter(steps: readonly Act[]) {
  const run = start();
  for (const step of steps) play(run, step);
  const { facts, model: { now: at } } = run;
  const verdicts = facts.verdicts.map((judged) => ({ ...judged, cue: null, answerId: null }));
  // Only the facts and the clock decide.
  const exercise = JSON.parse(JSON.stringify({ facts: { ...facts, verdicts } })) as KeptExercise;
  const onPhone: OnPhone = { kept: { checkedAt: at } as Kept, keptAt: at, seenAt: at };
  return { facts, exercise, onPhone, at };
}
const report = (tier: OfflineReport["tier"], childId = CHILD): OfflineReport => ({ key: "key", childId, noticed: ["dizzy"], tier, note: "", photoSetId: null, writtenAt: 0 });

describe("what is kept on a phone", () => {
  test("says at each instant of its three weeks what the server says of the same facts", () => {
    const met = new Map<GoAheadState, number>();
    fc.assert(
      fc.property(acts, fc.oneof(fc.constant(0), fc.nat({ max: DAY }), fc.nat({ max: KEPT_DAYS * DAY })), (steps, later) => {
        const { facts, exercise, onPhone, at } = keptAfter(steps);
        const here = keptToday(exercise, CHILD, onPhone, [], at + later);
        met.set(here.overall, (met.get(here.overall) ?? 0) + 1);
        expect(here).toEqual(todayOf(facts, at + later));
        expect(overallOf(facts, at + later)).toBe(here.overall);
      }),
      { numRuns: 700, seed: 20260303 },
    );
    for (const state of GO_AHEADS) expect(met.get(state) ?? 0, state).toBeGreaterThan(2);
  });

  test("is weaker than that for nobody, whatever the phone's clock says", () => {
    fc.assert(
      fc.property(acts, fc.integer({ min: -400 * DAY, max: 400 * DAY }), fc.integer({ min: -400 * DAY, max: 400 * DAY }), (steps, off, later) => {
        const { facts, exercise, onPhone, at } = keptAfter(steps);
        const here = keptToday(exercise, CHILD, { ...onPhone, keptAt: at + off, seenAt: at + off }, [], at + off + later);
        const passed = Math.max(0, later);
        expect(rank(here.overall)).toBeGreaterThanOrEqual(rank(todayOf(facts, at + passed).overall));
      }),
    );
  });

  test("is not yet, or stop, three weeks after it was checked and when the clock goes back, with the reason", () => {
    fc.assert(
      fc.property(acts, fc.nat({ max: 300 * DAY }), fc.boolean(), (steps, by, isBack) => {
        const { exercise, onPhone, at } = keptAfter(steps);
        const here = keptToday(exercise, CHILD, onPhone, [], isBack ? at - 1 - by : at + KEPT_DAYS * DAY + 1 + by);
        expect(["not-yet", "stop"]).toContain(here.overall);
        const code = isBack ? "clock-behind" : "not-checked-lately";
        for (const each of here.phases) expect(each.goAhead.reasons.some((reason) => reason.code === code)).toBe(true);
        const [first] = here.current.goAhead.reasons;
        if (here.overall === "not-yet") expect(first?.code).toBe(code);
      }),
    );
  });

  test("one report made on the phone stops every exercise of that child, and of no other", () => {
    fc.assert(
      fc.property(acts, fc.constantFrom("urgent" as const, "today" as const), fc.nat({ max: KEPT_DAYS * DAY }), (steps, tier, later) => {
        const { exercise, onPhone, at } = keptAfter(steps);
        const told = keptToday(exercise, CHILD, onPhone, [report(tier)], at + later);
        expect(told.overall).toBe("stop");
        for (const each of told.phases) expect(each.goAhead.reasons.map(({ code }) => code)).toContain(`symptom-${tier}`);
        expect(keptToday(exercise, CHILD, onPhone, [report(tier, "other")], at + later)).toEqual(keptToday(exercise, CHILD, onPhone, [], at + later));
      }),
    );
  });
});

describe("the clock of a phone", () => {
  const ready: readonly Act[] = [
    { do: "new-record", days: 200 }, { do: "confirm", sides: "lies-left", short: false, coverage: "covered" }, { do: "open", phase: "position" },
    { do: "wait", ms: HOUR }, { do: "judge", live: true, evidence: "fresh", verdicts: [0, 1, 2, 3, 4, 5, 6, 7].map((index) => [index, "in-place"] as const) },
  ];
  const { exercise, onPhone, at } = keptAfter(ready);
  const at21 = at + KEPT_DAYS * DAY;

  test("says go to the last millisecond of the three weeks and not after", () => {
    expect(KEPT_DAYS).toBe(21);
    expect(keptToday(exercise, CHILD, onPhone, [], at).overall).toBe("go");
    expect(keptToday(exercise, CHILD, onPhone, [], at21).overall).toBe("go");
    expect(keptToday(exercise, CHILD, onPhone, [], at21 + 1).overall).toBe("not-yet");
  });

  test("is doubted when it goes behind the moment of keeping, or behind what it has shown since, or is no number", () => {
    expect(keptToday(exercise, CHILD, onPhone, [], at - 1).overall).toBe("not-yet");
    expect(keptToday(exercise, CHILD, { ...onPhone, seenAt: at + DAY }, [], at + HOUR).overall).toBe("not-yet");
    expect(keptToday(exercise, CHILD, onPhone, [], Number.NaN).overall).toBe("not-yet");
  });

  test("counts from the server's clock where the phone's own is behind it", () => {
    const behind = { ...onPhone, keptAt: at - 300 * DAY, seenAt: at - 300 * DAY };
    expect(keptToday(exercise, CHILD, behind, [], at - 300 * DAY).overall).toBe("go");
    expect(keptToday(exercise, CHILD, behind, [], at - 300 * DAY + 22 * DAY).overall).toBe("not-yet");
  });

  test("lets a check-up date, and the weeks without a photo, pass without signal too", () => {
    const due = { ...exercise, facts: { ...exercise.facts, record: exercise.facts.record && { ...exercise.facts.record, reassessBy: at + 2 * DAY } } };
    expect(keptToday(due, CHILD, onPhone, [], at + DAY).overall).toBe("go");
    expect(keptToday(due, CHILD, onPhone, [], at + 2 * DAY).current.goAhead.reasons.map(({ code }) => code)).toEqual(["reassessment-past"]);
    const weekly = { ...exercise, facts: { ...exercise.facts, photoWeeks: 1 } };
    expect(keptToday(weekly, CHILD, onPhone, [], at + 6 * DAY).overall).toBe("go");
    expect(keptToday(weekly, CHILD, onPhone, [], at + 7 * DAY).current.goAhead.reasons.map(({ code }) => code)).toEqual(["nothing-judged-lately"]);
  });
});
