import * as fc from "fast-check";
import { describe, expect, test } from "vitest";
import { goAhead } from "@/lib/domain/setup/go-ahead";
import { REASON_STATE, type Reason } from "@/lib/domain/setup/go-ahead-reasons";
import { GO_AHEADS, PHASES, type GoAheadState, type Phase } from "@/lib/domain/setup/vocabulary";
import { MONDAY } from "@/tests/domain/go-ahead-scene";
import { acts, play, start, type Act } from "@/tests/property/go-ahead-commands";
import type { Run } from "@/tests/property/go-ahead-model";

const rank = (state: GoAheadState) => GO_AHEADS.indexOf(state);
const spelled = (reason: Reason) => ("itemKey" in reason ? `${reason.code}:${reason.itemKey}` : reason.code);
const phase = fc.constantFrom(...PHASES);

function after(steps: readonly Act[]): Run {
  const run = start();
  for (const step of steps) play(run, step);
  return run;
}
const now = ({ facts, model }: Run, of: Phase) => goAhead(facts, of, model.now);

describe("the go-ahead against a plain re-statement of its table", () => {
  test("state and every reason agree after every act, for every phase", () => {
    const met = new Map<GoAheadState, number>();
    fc.assert(
      fc.property(acts, (steps) => {
        const run = start();
        for (const step of steps) {
          play(run, step);
          for (const each of PHASES) {
            const result = now(run, each);
            met.set(result.state, (met.get(result.state) ?? 0) + 1);
            expect(new Set(result.reasons.map(spelled))).toEqual(run.model.reasons(each));
            expect(result.state).toBe(run.model.state(each));
          }
        }
      }),
      { numRuns: 1500, seed: 20260302 },
    );
    // A comparison that never met one of the five would say nothing about it.
    for (const state of GO_AHEADS) expect(met.get(state) ?? 0).toBeGreaterThan(100);
  });
});

describe("what holds whatever has happened", () => {
  test("the strongest reason comes first and decides; there is always one", () => {
    fc.assert(
      fc.property(acts, phase, (steps, of) => {
        const result = now(after(steps), of);
        const ranks = result.reasons.map((reason) => rank(REASON_STATE[reason.code]));
        expect(ranks.length).toBeGreaterThan(0);
        expect(ranks).toEqual([...ranks].sort((a, b) => b - a));
        expect(rank(result.state)).toBe(ranks[0]);
        expect(result.firstFixes).toEqual(result.fixes.slice(0, 3));
      }),
    );
  });

  test("one more stop, of any kind, always stops and loses no reason", () => {
    const stop = fc.constantFrom<Act>(
      { do: "report", urgent: true },
      { do: "report", urgent: false },
      { do: "place", scope: "all" },
      { do: "judge", live: false, evidence: "unknown", verdicts: [[0, "fix"]] },
    );
    fc.assert(
      fc.property(acts, stop, phase, (steps, act, of) => {
        const run = after(steps);
        const before = rank(now(run, of).state);
        play(run, act);
        expect(now(run, of).state).toBe("stop");
        expect(rank("stop")).toBeGreaterThanOrEqual(before);
      }),
    );
  });

  test("photos nobody could judge never bring anything nearer to go", () => {
    const unseen: Act = { do: "judge", live: false, evidence: "fresh", verdicts: [0, 1, 2, 3, 4, 5, 6, 7].map((index) => [index, "not-visible"] as const) };
    fc.assert(
      fc.property(acts, phase, (steps, of) => {
        const run = after(steps);
        const before = now(run, of);
        play(run, unseen);
        expect(now(run, of)).toEqual(before);
      }),
    );
  });

  test("a picture from before a stop, or of unknown time, never ends a stop", () => {
    const weak = fc.constantFrom("unknown" as const, "ahead" as const, "old" as const);
    fc.assert(
      fc.property(acts, weak, phase, (steps, evidence, of) => {
        const run = after(steps);
        play(run, { do: "judge", live: false, evidence: "fresh", verdicts: [[0, "fix"]] });
        play(run, { do: "judge", live: false, evidence, verdicts: [0, 1, 2, 3, 4, 5, 6, 7].map((index) => [index, "in-place"] as const) });
        expect(now(run, of).state).toBe("stop");
      }),
    );
  });

  test("consent changes what can be sent, never the go-ahead; time alone never weakens it", () => {
    fc.assert(
      fc.property(acts, phase, fc.nat(), (steps, of, later) => {
        const { facts, model } = after(steps);
        const given = goAhead({ ...facts, photoConsent: "given" }, of, model.now);
        const withdrawn = goAhead({ ...facts, photoConsent: "withdrawn" }, of, model.now);
        expect(withdrawn).toEqual({ ...given, photoChecksOff: true });
        expect(rank(goAhead(facts, of, model.now + later).state)).toBeGreaterThanOrEqual(rank(given.state));
      }),
    );
  });

  test("the order in which rows are handed over changes nothing", () => {
    fc.assert(
      fc.property(acts, phase, (steps, of) => {
        const { facts, model } = after(steps);
        const turned = { ...facts, verdicts: facts.verdicts.toReversed() };
        const sorted = (given: typeof facts) => {
          const { state, fixes, reasons } = goAhead(given, of, model.now);
          return { state, fixes, reasons: reasons.map(spelled).sort() };
        };
        expect(sorted(turned)).toEqual(sorted(facts));
      }),
    );
  });

  test("before anything is known, nothing is allowed", () => {
    for (const each of PHASES) expect(goAhead(start().facts, each, MONDAY).state).toBe("not-yet");
  });
});
