import { describe, expect, test } from "vitest";
import type { JudgedItemWithCue } from "@/lib/domain/ledger/judged";
import { itemState, judgedAt, ledger, openItems } from "@/lib/domain/ledger/ledger";
import type { Verdict } from "@/lib/domain/setup/vocabulary";
import { DAY, HOUR, ITEMS, MONDAY, said } from "@/tests/domain/go-ahead-scene";

const SIDES = { key: "lies-left", since: MONDAY };

/** One verdict a day on one item, from Tuesday on, each with its cue or none. */
const days = (itemKey: string, ...given: readonly (Verdict | readonly [Verdict, string])[]): readonly JudgedItemWithCue[] =>
  given.map((each, index) => {
    const [verdict, cue] = typeof each === "string" ? [each, null] : each;
    return { ...said(itemKey, verdict, MONDAY + (index + 1) * DAY), cue };
  });
const row = (itemKey: string, judged: readonly JudgedItemWithCue[], sides = SIDES) => {
  const found = ledger(ITEMS, judged, sides).find((each) => each.itemKey === itemKey);
  if (!found) throw new Error("the scene has this item");
  return found;
};
const elbow = (...given: Parameters<typeof days> extends [string, ...infer Rest] ? Rest : never) =>
  row("elbow-high", days("elbow-high", ...given));

describe("the state of an item (PRODUCT.md section 2, ledger)", () => {
  test.each<[Verdict[], string]>([
    [[], "not-seen-yet"],
    [["not-visible", "not-visible"], "not-seen-yet"],
    [["fix"], "working-on"],
    [["in-place"], "working-on"],
    [["in-place", "in-place"], "settled"],
    [["in-place", "not-visible", "in-place"], "settled"],
    [["in-place", "fix", "in-place"], "working-on"],
    [["in-place", "in-place", "fix"], "slipped"],
    [["in-place", "in-place", "fix", "in-place"], "slipped"],
    [["in-place", "in-place", "fix", "in-place", "fix"], "slipped"],
    [["in-place", "in-place", "fix", "in-place", "not-visible", "in-place"], "settled"],
    [["in-place", "in-place", "fix", "in-place", "in-place", "fix"], "slipped"],
    [["not-part"], "not-seen-yet"],
  ])("%j is %s", (verdicts, state) => {
    expect(elbow(...verdicts).state).toBe(state);
  });

  test("the same from bare judgements", () => {
    expect(itemState([])).toBe("not-seen-yet");
    expect(itemState(["in-place", "in-place", "fix"])).toBe("slipped");
  });
});

describe("the entries", () => {
  test("every verdict in order with its date, its source and its cue", () => {
    const judged = days("elbow-high", ["fix", "Elbow higher."], "not-visible");
    expect(row("elbow-high", [...judged].toReversed()).entries).toEqual([
      { verdict: "fix", at: MONDAY + DAY, by: "therapist", source: "answer", counts: true, cue: "Elbow higher." },
      { verdict: "not-visible", at: MONDAY + 2 * DAY, by: "therapist", source: "answer", counts: false, cue: null },
    ]);
  });

  test("one row for every item of the set-up, in its order", () => {
    expect(ledger(ITEMS, [], SIDES).map((each) => each.itemKey)).toEqual(ITEMS.map((each) => each.key));
  });
});

describe("the cue carried forward", () => {
  test("is the newest one of the fault the item stands at", () => {
    expect(elbow(["fix", "Elbow higher."], ["fix", "Point it at the ceiling."], "fix", "not-visible").newestCue).toEqual({
      text: "Point it at the ceiling.",
      at: MONDAY + 2 * DAY,
    });
  });

  test("ends with the fault, and does not come back with another one", () => {
    expect(elbow(["fix", "Elbow higher."], "in-place").newestCue).toBeNull();
    expect(elbow(["fix", "Elbow higher."], "in-place", "fix").newestCue).toBeNull();
  });
});

describe("stops and sides", () => {
  const stop = days("side-down", "in-place", "in-place", ["fix", "Lie on the LEFT side."]);
  const old = (evidenceAt: number | null, at: number) => ({ ...said("side-down", "in-place", at, { evidenceAt }), cue: null });

  test("two old photos in place do not settle an open stop", () => {
    const judged = [...stop, old(null, MONDAY + 5 * DAY), old(MONDAY + DAY, MONDAY + 6 * DAY)];
    expect(row("side-down", judged)).toMatchObject({ state: "slipped", standsAt: "fix" });
    expect(row("side-down", judged).entries.map((each) => each.counts)).toEqual([true, true, true, false, false]);
  });

  test("after a change of sides the stop stays open but its words about sides are gone", () => {
    const turned = { key: "lies-right", since: MONDAY + 4 * DAY };
    expect(row("side-down", stop, turned)).toMatchObject({ state: "working-on", standsAt: "fix", newestCue: null });
    expect(row("elbow-high", days("elbow-high", "in-place", "in-place"), turned).state).toBe("not-seen-yet");
    expect(row("head-in-line", days("head-in-line", "in-place", "in-place"), turned).state).toBe("settled");
    expect(row("head-in-line", days("head-in-line", ["fix", "Chin in."]), turned).newestCue?.text).toBe("Chin in.");
  });

  test("a lifted stop is no longer open", () => {
    const judged = [...stop, old(MONDAY + 4 * DAY, MONDAY + 4 * DAY + HOUR)];
    expect(openItems(ledger(ITEMS, judged, SIDES))).toEqual([]);
  });
});

test("open items: what stands at fix, stop items first", () => {
  const judged = [
    ...days("elbow-high", "fix"),
    ...days("head-in-line", "fix", "not-visible"),
    ...days("leg-reach", "fix", "in-place"),
    ...days("stool-steady", "fix"),
  ];
  expect(openItems(ledger(ITEMS, judged, SIDES)).map((each) => each.itemKey)).toEqual(["stool-steady", "head-in-line", "elbow-high"]);
});

test("judged at: each moment once for all its items, oldest first", () => {
  const judged = [...days("leg-reach", "in-place", "fix"), ...days("elbow-high", "fix", "in-place", "in-place")];
  expect(judgedAt(ledger(ITEMS, judged, SIDES))).toEqual([...new Set(judged.map((each) => each.judgedAt))].toSorted((a, b) => a - b));
  expect(judgedAt(ledger(ITEMS, judged, SIDES))).toHaveLength(3);
  expect(judgedAt(ledger(ITEMS, [], SIDES))).toEqual([]);
});
