import * as fc from "fast-check";
import { describe, expect, test } from "vitest";
import { photoPoint } from "@/lib/domain/marks/geometry";
import { act, redo, startHistory, undo, type Act, type History } from "@/lib/domain/marks/history";
import { MARKS_LIMIT, moveMark, type Mark } from "@/lib/domain/marks/marks";

const note = (id: string, x = 0.5, text = "here"): Mark => ({ id, itemKey: null, kind: "note", at: photoPoint(x, 0.5), text });
const ids = fc.constantFrom("a", "b", "c", "d");
const place = fc.double({ min: 0, max: 1, noNaN: true }).map((x) => x + 0);
const anAct: fc.Arbitrary<readonly [Act, string | null]> = fc.tuple(
  fc.oneof(
    fc.record({ do: fc.constant("add" as const), mark: fc.tuple(ids, place).map(([id, x]) => note(id, x)) }),
    fc.record({ do: fc.constant("change" as const), mark: fc.tuple(ids, place).map(([id, x]) => note(id, x)) }),
    fc.record({ do: fc.constant("remove" as const), id: ids }),
  ),
  fc.constantFrom("run 1", "run 2", null),
);
const acts = fc.array(anAct, { maxLength: 30 });
const played = (given: readonly (readonly [Act, string | null])[], from: History = startHistory([note("z")])) =>
  given.reduce((history, [each, run]) => act(history, each, run), from);
const all = (history: History, step: (each: History) => History): History => {
  const next = step(history);
  return next === history ? history : all(next, step);
};

describe("undo and redo", () => {
  test("one act undone is as if it was not done", () => {
    fc.assert(fc.property(acts, anAct, (before, [next]) => {
      const history = played(before);
      const done = act(history, next);
      expect(undo(done).marks).toEqual(done === history ? undo(history).marks : history.marks);
    }));
  });

  test("undone and done again is what it was, however often", () => {
    fc.assert(fc.property(acts, fc.nat(40), (given, times) => {
      const history = played(given);
      const back = Array.from({ length: times }).reduce<History>((each) => undo(each), history);
      const steps = history.done.length - back.done.length;
      expect(Array.from({ length: steps }).reduce<History>((each) => redo(each), back)).toEqual(history);
    }));
  });

  test("everything undone is what it began with, everything done again is what it ended with", () => {
    fc.assert(fc.property(acts, (given) => {
      const history = played(given);
      const back = all(history, undo);
      expect(back.marks).toEqual([note("z")]);
      expect(all(back, redo).marks).toEqual(history.marks);
    }));
  });

  test("a new act forgets what was undone; without anything to undo or redo nothing happens", () => {
    fc.assert(fc.property(acts, (given) => {
      const history = played(given);
      const next = act(undo(history), { do: "add", mark: note("new") });
      expect(redo(next)).toBe(next);
    }));
    const fresh = startHistory([note("z")]);
    expect(undo(fresh)).toBe(fresh);
    expect(redo(fresh)).toBe(fresh);
  });
});

describe("a run of moves is one change set", () => {
  test("ten steps of one key run are undone at once, and done again at once", () => {
    const run = Array.from({ length: 10 }, (_none, step) => [{ do: "change", mark: note("z", 0.5 + step / 100 + 0.01) }, "keys"] as const);
    const history = played(run);
    expect(history.done).toHaveLength(1);
    expect(undo(history).marks).toEqual([note("z")]);
    expect(redo(undo(history)).marks).toEqual(history.marks);
  });

  test("another run, another mark and no run stay apart", () => {
    const start = played([[{ do: "add", mark: note("a") }, null]]);
    const apart = played([
      [{ do: "change", mark: note("z", 0.1) }, "1"], [{ do: "change", mark: note("a", 0.2) }, "1"],
      [{ do: "change", mark: note("a", 0.3) }, "2"], [{ do: "change", mark: note("a", 0.4) }, null], [{ do: "change", mark: note("a", 0.5) }, null],
    ], start);
    // The last brings "a" to where it already was once; each step still is one of its own.
    expect(apart.done).toHaveLength(6);
  });

  test("a mark dragged and brought back, or drawn and deleted in one run, leaves nothing to undo", () => {
    expect(played([[{ do: "change", mark: note("z", 0.1) }, "g"], [{ do: "change", mark: note("z") }, "g"]]).done).toEqual([]);
    const gone = played([[{ do: "add", mark: note("a") }, "g"], [{ do: "remove", id: "a" }, "g"]]);
    expect(gone.done).toEqual([]);
    expect(gone.marks).toEqual([note("z")]);
  });

  test("a deleted mark comes back to where it lay between the others", () => {
    const three = startHistory([note("a"), note("b"), note("c")]);
    const history = act(act(three, { do: "remove", id: "b" }), { do: "remove", id: "a" });
    expect(history.marks.map(({ id }) => id)).toEqual(["c"]);
    expect(undo(undo(history)).marks.map(({ id }) => id)).toEqual(["a", "b", "c"]);
  });

  test("acts without effect are no acts", () => {
    const full = startHistory(Array.from({ length: MARKS_LIMIT }, (_none, index) => note(`m${index}`)));
    expect(act(full, { do: "add", mark: note("one more") })).toBe(full);
    expect(act(full, { do: "add", mark: note("m1") })).toBe(full);
    expect(act(full, { do: "remove", id: "none" })).toBe(full);
    expect(act(full, { do: "change", mark: moveMark(note("m1"), 0, 0) })).toBe(full);
    expect(act(full, { do: "change", mark: note("none") })).toBe(full);
  });
});
