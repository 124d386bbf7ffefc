import { describe, expect, it } from "vitest";
import checks from "@/tests/checks/working-time.json";
import { addWorkingMs, answerTimeMs, dueAt, isOpen, nextOpening, workingMsBetween } from "@/lib/domain/time/working-time";
import type { CalendarHistory, WorkingCalendar, WorkingWeek } from "@/lib/domain/time/working-week";
import { WorkingWeekSchema } from "@/lib/domain/time/working-week.schema";

const at = (text: string) => Date.parse(text);
const hours = (count: number) => count * 3_600_000;
const DAY = [["09:00", "17:00"]] as const;
const OFFICE: WorkingWeek = { "1": DAY, "2": DAY, "3": DAY, "4": DAY, "5": DAY };
const london: WorkingCalendar = { zone: "Europe/London", week: OFFICE, closures: [] };

// The two cases marked convention-dependent are held to the written semantics: what the wall clock shows.
describe("working time, against cases computed minute by minute", () => {
  const weeks = new Map(Object.entries(checks.weeks).map(([name, week]) => [name, WorkingWeekSchema.parse(week)]));

  it("holds 44 cases", () => expect(checks.cases).toHaveLength(44));
  it.each(checks.cases)("$id: $why", (check) => {
    const week = weeks.get(check.week);
    expect(week).toBeDefined();
    const calendar: WorkingCalendar = { zone: check.zone, week: week ?? {}, closures: check.closures };
    const start = at(check.start);
    if (check.op === "between") {
      expect(workingMsBetween(calendar, start, at(check.end ?? ""))).toBe((check.seconds ?? Number.NaN) * 1000);
    } else {
      expect(addWorkingMs(calendar, start, (check.workingMinutes ?? Number.NaN) * 60_000)).toBe(at(check.expectedEnd ?? ""));
    }
  });
});

describe("opening again", () => {
  it("is now while open, the next opening while closed", () => {
    expect(nextOpening(london, at("2026-03-03T10:00:00Z"))).toBe(at("2026-03-03T10:00:00Z"));
    expect(nextOpening(london, at("2026-03-06T17:00:00Z"))).toBe(at("2026-03-09T09:00:00Z"));
    expect(isOpen(london, at("2026-03-06T16:59:59.999Z"))).toBe(true);
    expect(isOpen(london, at("2026-03-06T17:00:00Z"))).toBe(false);
  });

  it("passes over a closure and never comes without hours", () => {
    expect(nextOpening({ ...london, closures: ["2026-03-09"] }, at("2026-03-06T18:00:00Z"))).toBe(at("2026-03-10T09:00:00Z"));
    expect(nextOpening({ ...london, week: {} }, 0)).toBeNull();
    expect(addWorkingMs({ ...london, week: {} }, 0, 1)).toBeNull();
    expect(() => addWorkingMs(london, 0, -1)).toThrow(RangeError);
  });

  it("counts overlapping spans once, and a closure spares the night begun the day before", () => {
    const overlapping: WorkingCalendar = { ...london, week: { "1": [["09:00", "12:00"], ["10:00", "11:00"], ["11:30", "13:00"]] } };
    expect(workingMsBetween(overlapping, at("2026-03-02T00:00:00Z"), at("2026-03-03T00:00:00Z"))).toBe(hours(4));
    const nights: WorkingCalendar = { ...london, week: { "5": [["22:00", "06:00"]], "6": [["05:00", "07:00"]] }, closures: ["2026-03-07"] };
    expect(workingMsBetween(nights, at("2026-03-06T00:00:00Z"), at("2026-03-08T00:00:00Z"))).toBe(hours(8));
    expect(workingMsBetween(nights, at("2026-03-07T01:00:00Z"), at("2026-03-07T02:00:00Z"))).toBe(hours(1));
    expect(workingMsBetween({ ...nights, closures: ["2026-03-06"] }, at("2026-03-06T00:00:00Z"), at("2026-03-08T00:00:00Z"))).toBe(hours(2));
  });
});

describe("the answering promise", () => {
  const history: CalendarHistory = {
    zone: "Europe/London",
    closures: [],
    versions: [
      // Out of order on purpose: the instants decide, not the list.
      { effectiveFrom: at("2026-03-09T00:00:00Z"), week: { ...OFFICE, "1": [["12:00", "14:00"]] }, promiseMs: hours(2) },
      { effectiveFrom: at("2026-01-01T00:00:00Z"), week: OFFICE, promiseMs: hours(8) },
    ],
  };
  const friday = at("2026-03-06T15:00:00Z");

  it("is the one in force at arrival, counted in the hours in force as they pass", () => {
    // 2 h on Friday, 2 h under Monday's new hours, 4 h on Tuesday.
    expect(dueAt(history, friday)).toBe(at("2026-03-10T13:00:00Z"));
    expect(dueAt(history, at("2026-03-10T10:00:00Z"))).toBe(at("2026-03-10T12:00:00Z"));
    expect(dueAt(history, at("2025-12-31T16:00:00Z"))).toBe(at("2026-01-01T16:00:00Z"));
  });

  it("leaves out waiting on the family, once where pauses overlap", () => {
    const pauses = [
      { from: at("2026-03-10T11:30:00Z"), until: at("2026-03-10T12:30:00Z") },
      { from: at("2026-03-10T11:00:00Z"), until: at("2026-03-10T12:00:00Z") },
    ];
    expect(dueAt(history, at("2026-03-10T10:00:00Z"), pauses)).toBe(at("2026-03-10T13:30:00Z"));
    expect(answerTimeMs(history, at("2026-03-10T10:00:00Z"), at("2026-03-10T13:30:00Z"), pauses)).toBe(hours(2));
  });

  it("has no due time while the clock stands still, and one again after", () => {
    const arrived = at("2026-03-10T10:00:00Z");
    const asked = at("2026-03-10T11:00:00Z");
    expect(dueAt(history, arrived, [{ from: asked, until: null }])).toBeNull();
    expect(answerTimeMs(history, arrived, at("2026-06-01T12:00:00Z"), [{ from: asked, until: null }])).toBe(hours(1));
    // Already due before the pause began: still due then.
    expect(dueAt(history, arrived, [{ from: at("2026-03-10T12:30:00Z"), until: null }])).toBe(at("2026-03-10T12:00:00Z"));
    // A family that took years to send again: a Monday in summer time, opened at 12:00, one hour left.
    expect(dueAt(history, arrived, [{ from: asked, until: at("2029-09-03T07:00:00Z") }])).toBe(at("2029-09-03T12:00:00Z"));
  });

  it("is never negative, and unknown without hours", () => {
    expect(answerTimeMs(history, friday, friday - 1)).toBe(0);
    expect(dueAt({ ...history, versions: [] }, friday)).toBeNull();
  });
});

describe("hours as typed", () => {
  it.each([
    [{ "1": [["09:00", "24:00"]] }, true],
    [{ "1": [["09:00", "12:00"], ["13:00", "02:00"]] }, true],
    [{ "1": [["9:00", "12:00"]] }, false],
    [{ "1": [["09:00", "24:30"]] }, false],
    [{ "1": [["09:00", "09:00"]] }, false],
    [{ "1": [["09:00", "12:00"], ["11:00", "13:00"]] }, false],
    [{ "1": [["22:00", "06:00"], ["23:00", "23:30"]] }, false],
    [{ "8": [["09:00", "12:00"]] }, false],
  ])("%j is taken: %s", (week, isTaken) => {
    expect(WorkingWeekSchema.safeParse(week).success).toBe(isTaken);
  });
});
