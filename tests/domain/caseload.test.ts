import { describe, expect, test } from "vitest";
import { byUrgency, isShown, reasonsToLook, weeksUnlessChosen, type CaseFacts, type Reason } from "@/lib/domain/caseload/reasons";
import { DAY, MONDAY } from "@/tests/domain/go-ahead-scene";

/** Four weeks after the Monday of every scene: Mon 30 March 2026. */
const NOW = MONDAY + 28 * DAY;
const ASKED = { now: NOW, today: "2026-03-30", weeks: 3 };
const WELL: CaseFacts = {
  unreadSince: null, record: { reassessBy: "2026-08-10" }, atFix: [], photoConsent: "given", setUpAt: MONDAY, lastSentAt: NOW - DAY,
};
const reasons = (change: Partial<CaseFacts> = {}, weeks = 3) => reasonsToLook({ ...WELL, ...change }, { ...ASKED, weeks });
const elbow = (photos: number) => ({ exerciseKey: "side-lying", itemKey: "elbow-high", photos });

// The lines of 3 weeks, 3 photo sets and 28 days: common practice, no source.
test("a child that sends, with a record, nothing stuck and nothing unread needs no look", () => {
  expect(reasons()).toEqual([]);
});

describe("not sent", () => {
  test.each([
    ["a moment less than three weeks", { lastSentAt: NOW - 21 * DAY + 1 }, []],
    ["three weeks to the moment", { lastSentAt: NOW - 21 * DAY }, [{ kind: "not-sent", since: NOW - 21 * DAY, hasSent: true, hasConsent: true, weeks: 3 }]],
    ["nearly five weeks are four", { lastSentAt: NOW - 34 * DAY }, [{ kind: "not-sent", since: NOW - 34 * DAY, hasSent: true, hasConsent: true, weeks: 4 }]],
    ["never, from the set-up on", { lastSentAt: null }, [{ kind: "not-sent", since: MONDAY, hasSent: false, hasConsent: true, weeks: 4 }]],
    ["never, and set up only now", { lastSentAt: null, setUpAt: NOW - DAY }, []],
    ["never, and nothing set up", { lastSentAt: null, setUpAt: null }, []],
    ["never, without consent on file", { lastSentAt: null, photoConsent: "never" as const }, [{ kind: "not-sent", since: MONDAY, hasSent: false, hasConsent: false, weeks: 4 }]],
    ["photo checks switched off", { lastSentAt: null, photoConsent: "withdrawn" as const }, []],
  ])("%s", (_what, change, expected) => {
    expect(reasons(change)).toEqual(expected);
  });

  test("by the weeks that were chosen", () => {
    expect(reasons({ lastSentAt: NOW - 8 * DAY }, 1).map(({ kind }) => kind)).toEqual(["not-sent"]);
    expect(reasons({ lastSentAt: NOW - 8 * DAY }, 2)).toEqual([]);
  });

  test("three weeks unless chosen, less where the practice wants photos more often", () => {
    expect([8, 4, 3, 2, 1].map(weeksUnlessChosen)).toEqual([3, 3, 3, 2, 1]);
  });
});

test.each([
  ["2026-03-29", "over"], ["2026-03-30", "soon"], ["2026-04-27", "soon"], ["2026-04-28", null],
])("a reassessment by %s, read on 30 March, is %s", (reassessBy, due) => {
  expect(reasons({ record: { reassessBy } })).toEqual(due === null ? [] : [{ kind: "record", due, day: reassessBy }]);
});

test("no record is a reason, a record without a date is none", () => {
  expect(reasons({ record: null })).toEqual([{ kind: "record", due: "missing", day: null }]);
  expect(reasons({ record: { reassessBy: null } })).toEqual([]);
});

test("stuck from the third photo set on, the longest first", () => {
  expect(reasons({ atFix: [elbow(2)] })).toEqual([]);
  expect(reasons({ atFix: [elbow(3), { ...elbow(5), itemKey: "stacked" }] })).toEqual([
    { kind: "stuck", exerciseKey: "side-lying", itemKey: "stacked", photos: 5 }, { kind: "stuck", ...elbow(3) },
  ]);
});

test("all reasons of one child, the most urgent first", () => {
  const all = reasons({ unreadSince: MONDAY, record: { reassessBy: "2026-03-01" }, atFix: [elbow(3)], lastSentAt: null });
  expect(all.map(({ kind }) => kind)).toEqual(["unread-stop", "record", "stuck", "not-sent"]);
  expect(reasons({ record: { reassessBy: "2026-04-01" }, atFix: [elbow(3)], lastSentAt: null }).map(({ kind }) => kind)).toEqual(["stuck", "not-sent", "record"]);
});

describe("the order", () => {
  const unread = (since: number): Reason => ({ kind: "unread-stop", since });
  const over = (day: string): Reason => ({ kind: "record", due: "over", day });
  const stuck: Reason = { kind: "stuck", ...elbow(3) };
  const silent = (since: number): Reason => ({ kind: "not-sent", since, hasSent: true, hasConsent: true, weeks: 4 });
  const order = (...cases: readonly (readonly Reason[])[]) => cases.toSorted(byUrgency).map((each) => cases.indexOf(each));

  test("an unread stop before everything, and none after all who have a reason", () => {
    expect(order([], [silent(1)], [stuck, silent(1)], [over("2026-03-01")], [unread(9)])).toEqual([4, 3, 2, 1, 0]);
  });

  test("of two alike who has waited longer, of two the same the one given first", () => {
    expect(order([unread(5)], [unread(3)])).toEqual([1, 0]);
    expect(order([over("2026-03-02")], [over("2026-03-01")])).toEqual([1, 0]);
    expect(order([silent(5)], [silent(3)])).toEqual([1, 0]);
    expect(order([stuck], [stuck], [])).toEqual([0, 1, 2]);
  });

  test("of two who have waited as long the one with more to look at, and never before who has waited longer", () => {
    expect(order([unread(9)], [unread(9), stuck])).toEqual([1, 0]);
    expect(order([stuck, silent(1)], [stuck])).toEqual([0, 1]);
    expect(order([unread(9), stuck], [unread(1)])).toEqual([1, 0]);
  });

  test("how many items or photos are at fix counts for nothing", () => {
    const many: readonly Reason[] = [{ kind: "stuck", ...elbow(9) }, { kind: "stuck", ...elbow(8), itemKey: "stacked" }];
    expect(byUrgency(many, [stuck])).toBe(0);
  });
});

test("what is shown: anybody with a reason, one reason among several, or every child", () => {
  const both = reasons({ atFix: [elbow(3)], lastSentAt: null });
  expect((["any", "unread-stop", "record", "stuck", "not-sent", "everyone"] as const).map((shown) => isShown(both, shown))).toEqual([true, false, false, true, true, true]);
  expect([isShown([], "any"), isShown([], "everyone")]).toEqual([false, true]);
});
