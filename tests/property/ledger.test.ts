import * as fc from "fast-check";
import { expect, test } from "vitest";
import { itemState, ledger, openItems } from "@/lib/domain/ledger/ledger";
import { goAhead } from "@/lib/domain/setup/go-ahead";
import { PHASES, VERDICTS } from "@/lib/domain/setup/vocabulary";
import { acts, play, start } from "@/tests/property/go-ahead-commands";

const judgements = fc.array(fc.constantFrom("in-place" as const, "fix" as const), { maxLength: 12 });

test("an item's state against the words of its definition, found by searching the text", () => {
  fc.assert(
    fc.property(judgements, (given) => {
      // The history as text: I in place, F fix. "II" ever: it has been settled.
      const text = given.map((each) => (each === "in-place" ? "I" : "F")).join("");
      const expected =
        text === "" ? "not-seen-yet" : !text.includes("II") ? "working-on" : text.lastIndexOf("F") > text.lastIndexOf("II") ? "slipped" : "settled";
      expect(itemState(given)).toBe(expected);
    }),
    { numRuns: 2000 },
  );
});

test("not visible changes nothing but the list of entries", () => {
  fc.assert(
    fc.property(acts, (steps) => {
      const { facts } = after(steps);
      const judged = facts.verdicts.map((each) => ({ ...each, cue: null }));
      if (!facts.setup) return;
      const seen = judged.filter((each) => each.verdict !== "not-visible");
      const strip = (rows: ReturnType<typeof ledger>) => rows.map(({ entries: _entries, ...rest }) => rest);
      expect(strip(ledger(facts.setup.items, judged, facts.setup.sides))).toEqual(
        strip(ledger(facts.setup.items, seen, facts.setup.sides)),
      );
    }),
  );
});

test("the ledger and the go-ahead never disagree about what is open", () => {
  let compared = 0;
  fc.assert(
    fc.property(acts, (steps) => {
      const { facts, model } = after(steps);
      const { setup } = facts;
      if (!setup) return;
      const rows = ledger(setup.items, facts.verdicts.map((each) => ({ ...each, cue: null })), setup.sides);
      const open = new Set(openItems(rows).map((each) => each.itemKey));
      const last = setup.phases.at(-1) ?? PHASES[0];
      const named = goAhead(facts, last, model.now).reasons.flatMap((reason) =>
        (reason.code === "item-fix" || reason.code === "stop-item-fix") && "itemKey" in reason ? [reason.itemKey] : [],
      );
      compared += open.size;
      const known = new Set(setup.items.map((each) => each.key));
      expect(open).toEqual(new Set(named.filter((key) => known.has(key))));
      for (const each of rows) if (each.standsAt === "fix") expect(each.state).not.toBe("settled");
    }),
    { numRuns: 500, seed: 20260303 },
  );
  expect(compared).toBeGreaterThan(100);
});

test("every verdict given appears exactly once", () => {
  fc.assert(
    fc.property(acts, (steps) => {
      const { facts } = after(steps);
      if (!facts.setup) return;
      const keys = new Set(facts.setup.items.map((each) => each.key));
      const rows = ledger(facts.setup.items, facts.verdicts.map((each) => ({ ...each, cue: null })), facts.setup.sides);
      for (const verdict of VERDICTS) {
        const shown = rows.flatMap((each) => each.entries).filter((each) => each.verdict === verdict);
        expect(shown.length).toBe(facts.verdicts.filter((each) => each.verdict === verdict && keys.has(each.itemKey)).length);
      }
    }),
  );
});

function after(steps: readonly Parameters<typeof play>[1][]): ReturnType<typeof start> {
  const run = start();
  for (const step of steps) play(run, step);
  return run;
}
