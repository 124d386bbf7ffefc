import { describe, expect, test } from "vitest";
import { isTooMany, mustHold, retentionOf, tooOldAt } from "@/lib/domain/retention/retention";
import { addMonths } from "@/lib/domain/time/local";

const DAY = 86_400_000;
const LONDON = "Europe/London";
const at = (iso: string) => Date.parse(iso);

// The calendar by hand; common practice, no source.
test("months end on the same day, or the last of a shorter month", () => {
  expect([addMonths("2026-01-31", 1), addMonths("2024-02-29", 12), addMonths("2026-11-30", 3), addMonths("2026-03-04", 12)])
    .toEqual(["2026-02-28", "2025-02-28", "2027-02-28", "2027-03-04"]);
});

test("photos are too old from the start of that day where the practice is", () => {
  expect(tooOldAt(at("2026-03-04T10:00:00Z"), 12, LONDON)).toBe(at("2027-03-04T00:00:00Z"));
  // Summer time: the day begins an hour earlier than in UTC.
  expect(tooOldAt(at("2025-07-01T23:30:00Z"), 12, LONDON)).toBe(at("2026-07-01T23:00:00Z"));
});

describe("a set", () => {
  const lastAt = at("2026-01-10T12:00:00Z");
  const state = (now: string, warnedAt: string | null = null, months = 12) => retentionOf({ lastAt, warnedAt: warnedAt === null ? null : at(warnedAt) }, months, LONDON, at(now)).state;

  test("is warned of 30 days before, and erased on its day", () => {
    expect(state("2026-12-10T23:59:00Z")).toBe("keep");
    expect(state("2026-12-11T00:00:00Z")).toBe("warn");
    expect(state("2026-12-20T00:00:00Z", "2026-12-11T08:00:00Z")).toBe("warned");
    expect(state("2027-01-10T07:59:00Z", "2026-12-11T08:00:00Z")).toBe("warned");
    expect(state("2027-01-10T08:00:00Z", "2026-12-11T08:00:00Z")).toBe("erase");
  });

  test("is never erased without 30 days of warning, however old it is", () => {
    expect(state("2036-01-01T00:00:00Z")).toBe("warn");
    expect(state("2036-01-20T00:00:00Z", "2036-01-01T00:00:00Z")).toBe("warned");
    expect(state("2036-01-31T00:00:00Z", "2036-01-01T00:00:00Z")).toBe("erase");
  });

  test("that was answered again, or is kept longer, is warned of anew", () => {
    expect(state("2027-01-12T00:00:00Z", "2026-12-11T08:00:00Z", 24)).toBe("keep");
    expect(state("2027-12-20T00:00:00Z", "2026-12-11T08:00:00Z", 24)).toBe("warn");
  });
});

describe("a person looks first", () => {
  const now = at("2026-06-01T00:00:00Z");
  const done = { ranAt: now - DAY, outcome: "done", due: 0, confirmedAt: null } as const;
  const held = (confirmedAt: number | null, due = 500) => ({ ranAt: now - DAY, outcome: "held", due, confirmedAt }) as const;

  test("at more than one in a hundred and more than twenty", () => {
    expect([isTooMany(20, 100), isTooMany(21, 100), isTooMany(21, 2100), isTooMany(22, 2100), isTooMany(0, 0)]).toEqual([false, true, false, true, false]);
    expect([mustHold({ photos: 21, warned: 0, total: 100 }, done, now), mustHold({ photos: 0, warned: 21, total: 100 }, done, now), mustHold({ photos: 3, warned: 3, total: 100 }, done, now)])
      .toEqual([true, true, false]);
  });

  test("after a jump of the clock, however few they are, and never when there is nothing to do", () => {
    const years = now + 3650 * DAY;
    expect([mustHold({ photos: 1, warned: 0, total: 5 }, done, years), mustHold({ photos: 0, warned: 1, total: 5 }, done, years), mustHold({ photos: 0, warned: 0, total: 5 }, done, years)]).toEqual([true, true, false]);
    expect(mustHold({ photos: 1, warned: 0, total: 5 }, null, years)).toBe(false);
  });

  test("and goes on waiting until the lead has confirmed that many, for three days", () => {
    const few = { photos: 1, warned: 0, total: 5 };
    expect(mustHold(few, held(null), now)).toBe(true);
    expect([mustHold({ photos: 400, warned: 100, total: 500 }, held(now - 60_000), now), mustHold({ photos: 401, warned: 100, total: 501 }, held(now - 60_000), now)]).toEqual([false, true]);
    expect([mustHold(few, held(now - 3 * DAY), now), mustHold(few, held(now - 3 * DAY - 1), now), mustHold(few, held(now + 1), now)]).toEqual([false, true, true]);
  });
});
