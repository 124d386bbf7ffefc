import { describe, expect, it } from "vitest";
import checks from "@/tests/checks/working-time.json";
import { addWorkingMs, answerTimeMs, dueAt, isOpen, nextOpening, workingMsBetween } from "@/lib/domain/time/working-time";
import type { CalendarHistory, WorkingCalendar, WorkingWeek } from "@/lib/domain/time/working-week";
import { WorkingWeekSchema } from "@/lib/domain/time/working-week.schema";

const at = (text: string) => Date.parse(text);
const hours = (count: number) => count * 3_600_000;
const DAY = [["09:00", "17:00"]] as const;
const OFFICE: WorkingWeek = { "1": DAY, "2": DAY, "3": DAY, "4": DAY, "5": DAY };
const london: WorkingCalendar = { zone: "Europe/London", week: OFFICE, closures: [], openings: [] };

// The two cases marked convention-dependent are held to the written semantics: what the wall clock shows.
describe("working time, against cases computed minute by minute", () => {
  const weeks = new Map(Object.entries(checks.weeks).map(([name, week]) => [name, WorkingWeekSchema.parse(week)]));

  it("holds 44 cases", () => expect(checks.cases).toHaveLength(44));
  it.each(checks.cases)("$id: $why", (check) => {
    const week = weeks.get(check.week);
    expect(week).toBeDefined();
    const calendar: WorkingCalendar = { zone: check.zone, week: week ?? {}, closures: check.closures, openings: [] };
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
    expect(isOpen(london, at("2026-03-09T08:59:59.999Z"))).toBe(false);
    expect(isOpen(london, at("2026-03-09T09:00:00Z"))).toBe(true);
  });

  it("comes after a closure of up to 400 days, and is given up after that", () => {
    const everyDay = Object.fromEntries(["1", "2", "3", "4", "5", "6", "7"].map((day) => [day, [["09:00", "10:00"]] as const]));
    const closedFor = (days: number): WorkingCalendar => ({
      zone: "UTC", week: everyDay, openings: [], closures: Array.from({ length: days }, (_, day) => new Date(Date.UTC(2026, 2, 4 + day)).toISOString().slice(0, 10)),
    });
    const closing = at("2026-03-03T10:00:00Z");
    expect(nextOpening(closedFor(399), closing)).toBe(Date.UTC(2026, 2, 3 + 400, 9));
    expect(nextOpening(closedFor(400), closing)).toBeNull();
  });

  it("passes over a closure and never comes without hours", () => {
    expect(nextOpening({ ...london, closures: ["2026-03-09"] }, at("2026-03-06T18:00:00Z"))).toBe(at("2026-03-10T09:00:00Z"));
    expect(nextOpening({ ...london, week: {} }, 0)).toBeNull();
    expect(addWorkingMs({ ...london, week: {} }, 0, 1)).toBeNull();
    for (const ms of [-1, Infinity]) expect(() => addWorkingMs(london, 0, ms)).toThrow(RangeError);
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
    openings: [],
    versions: [
      // Out of order on purpose: the instants decide, not the list.
      { effectiveFrom: at("2026-03-09T00:00:00Z"), zone: "Europe/London", week: { ...OFFICE, "1": [["12:00", "14:00"]] }, promiseMs: { "photo-set": hours(2), question: hours(4), symptom: hours(1) } },
      { effectiveFrom: at("2026-01-01T00:00:00Z"), zone: "Europe/London", week: OFFICE, promiseMs: { "photo-set": hours(8), question: hours(16), symptom: hours(2) } },
    ],
  };
  const friday = at("2026-03-06T15:00:00Z");

  it("is the one in force at arrival, counted in the hours in force as they pass", () => {
    // 2 h on Friday, 2 h under Monday's new hours, 4 h on Tuesday.
    expect(dueAt(history, "photo-set", friday)).toBe(at("2026-03-10T13:00:00Z"));
    expect(dueAt(history, "photo-set", at("2026-03-10T10:00:00Z"))).toBe(at("2026-03-10T12:00:00Z"));
    // At the very instant of a change the new promise holds.
    expect(dueAt(history, "photo-set", at("2026-03-09T00:00:00Z"))).toBe(at("2026-03-09T14:00:00Z"));
    expect(dueAt(history, "photo-set", at("2025-12-31T16:00:00Z"))).toBe(at("2026-01-01T16:00:00Z"));
  });

  it("leaves out waiting on the family, once where pauses overlap", () => {
    const pauses = [
      { from: at("2026-03-10T11:30:00Z"), until: at("2026-03-10T12:30:00Z") },
      { from: at("2026-03-10T11:00:00Z"), until: at("2026-03-10T12:00:00Z") },
    ];
    expect(dueAt(history, "photo-set", at("2026-03-10T10:00:00Z"), pauses)).toBe(at("2026-03-10T13:30:00Z"));
    expect(answerTimeMs(history, at("2026-03-10T10:00:00Z"), at("2026-03-10T13:30:00Z"), pauses)).toBe(hours(2));
  });

  it("has no due time while the clock stands still, and one again after", () => {
    const arrived = at("2026-03-10T10:00:00Z");
    const asked = at("2026-03-10T11:00:00Z");
    expect(dueAt(history, "photo-set", arrived, [{ from: asked, until: null }])).toBeNull();
    expect(answerTimeMs(history, arrived, at("2026-06-01T12:00:00Z"), [{ from: asked, until: null }])).toBe(hours(1));
    // Already due before the pause began: still due then.
    expect(dueAt(history, "photo-set", arrived, [{ from: at("2026-03-10T12:30:00Z"), until: null }])).toBe(at("2026-03-10T12:00:00Z"));
    // A family that took years to send again: a Monday in summer time, opened at 12:00, one hour left.
    expect(dueAt(history, "photo-set", arrived, [{ from: asked, until: at("2029-09-03T07:00:00Z") }])).toBe(at("2029-09-03T12:00:00Z"));
  });

  it("is never negative, and unknown without hours", () => {
    expect(answerTimeMs(history, friday, friday - 1)).toBe(0);
    expect(dueAt({ ...history, versions: [] }, "photo-set", friday)).toBeNull();
  });
});

describe("each kind's promise, and what changes while something waits", () => {
  const promiseMs = { "photo-set": hours(8), question: hours(16), symptom: hours(2) };
  const version = (effectiveFrom: string, change = {}) => ({ effectiveFrom: at(effectiveFrom), zone: "Europe/London", week: OFFICE, promiseMs, ...change });
  const since2025: CalendarHistory = { zone: "Europe/London", closures: [], openings: [], versions: [version("2025-01-01T00:00:00Z")] };
  const monday = at("2026-03-02T09:00:00Z");

  it("is its own, whatever arrives beside it", () => {
    expect(dueAt(since2025, "symptom", monday)).toBe(at("2026-03-02T11:00:00Z"));
    expect(dueAt(since2025, "photo-set", monday)).toBe(at("2026-03-02T17:00:00Z"));
    expect(dueAt(since2025, "question", monday)).toBe(at("2026-03-03T17:00:00Z"));
  });

  it("keeps the zone in force then when the practice moves", () => {
    const moved: CalendarHistory = {
      ...since2025, zone: "America/New_York",
      versions: [version("2025-01-01T00:00:00Z"), version("2026-03-02T12:00:00Z", { zone: "America/New_York" })],
    };
    // Due before the move: nothing changes. 9 to 12 in London, then from 9 in New York, which is 14:00 UTC.
    expect(dueAt(moved, "symptom", monday)).toBe(at("2026-03-02T11:00:00Z"));
    expect(dueAt(moved, "photo-set", monday)).toBe(at("2026-03-02T19:00:00Z"));
    expect(answerTimeMs(moved, monday, at("2026-03-02T14:30:00Z"))).toBe(hours(3.5));
  });

  it("a closure holds from when it was entered until it was taken out", () => {
    const closedFrom = (from: string, until: string | null): CalendarHistory =>
      ({ ...since2025, closures: [{ day: "2026-03-02", from: at(from), until: until === null ? null : at(until) }] });
    expect(dueAt(closedFrom("2026-02-20T12:00:00Z", null), "photo-set", monday)).toBe(at("2026-03-03T17:00:00Z"));
    // Entered at noon of the day itself: the morning was worked.
    expect(dueAt(closedFrom("2026-03-02T12:00:00Z", null), "photo-set", monday)).toBe(at("2026-03-03T14:00:00Z"));
    expect(dueAt(closedFrom("2026-03-02T12:00:00Z", "2026-03-02T13:00:00Z"), "photo-set", monday)).toBe(at("2026-03-03T10:00:00Z"));
    expect(dueAt(closedFrom("2026-02-20T12:00:00Z", "2026-02-21T12:00:00Z"), "photo-set", monday)).toBe(at("2026-03-02T17:00:00Z"));
  });

  it("an extra opening counts on its date, past midnight too, and once where it is open anyway", () => {
    const opened = (spans: readonly (readonly [string, string])[], closures: CalendarHistory["closures"] = []): CalendarHistory =>
      ({ ...since2025, closures, openings: [{ day: "2026-03-07", spans, from: 0, until: null }, { day: "2026-03-09", spans: [["08:00", "10:00"]], from: 0, until: null }] });
    const saturday = [["10:00", "12:00"], ["22:00", "01:00"]] as const;
    const friday = at("2026-03-06T16:00:00Z");
    // 1 h on Friday, 2 h and 3 h on Saturday, then Monday from 8 instead of 9.
    expect(dueAt(opened(saturday), "photo-set", friday)).toBe(at("2026-03-09T10:00:00Z"));
    expect(workingMsBetween(opened(saturday), at("2026-03-09T00:00:00Z"), at("2026-03-10T00:00:00Z"))).toBe(hours(9));
    expect(nextOpening(opened(saturday), at("2026-03-06T18:00:00Z"))).toBe(at("2026-03-07T10:00:00Z"));
    expect(isOpen(opened(saturday), at("2026-03-08T00:59:00Z"))).toBe(true);
    // A closed Monday is open for its extra span alone.
    expect(workingMsBetween(opened(saturday, [{ day: "2026-03-09", from: 0, until: null }]), at("2026-03-09T00:00:00Z"), at("2026-03-10T00:00:00Z"))).toBe(hours(2));
  });

  it("an extra opening on a day that a zone skipped never comes", () => {
    const apia: WorkingCalendar = { zone: "Pacific/Apia", week: {}, closures: [], openings: [{ day: "2011-12-30", spans: [["09:00", "17:00"]] }, { day: "2011-12-31", spans: [["09:00", "10:00"]] }] };
    expect(workingMsBetween(apia, at("2011-12-28T00:00:00Z"), at("2012-01-02T00:00:00Z"))).toBe(hours(1));
    expect(nextOpening(apia, at("2011-12-28T00:00:00Z"))).toBe(at("2011-12-30T19:00:00Z"));
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
