import * as fc from "fast-check";
import { describe, expect, test } from "vitest";
import { isClockDoubtful, keptBackups } from "@/lib/domain/backup/kept-backups";

const at = (text: string): number => Date.parse(`${text}:00Z`);
const QUARTER_MS = 900_000;
const DAY_MS = 86_400_000;

describe("which backups stay", () => {
  test("a quarter of an hour apart for ten weeks: seven days and four weeks, the newest of each", () => {
    const now = at("2026-11-27T21:15");
    const made = Array.from({ length: 70 * 96 }, (_, n) => now - n * QUARTER_MS);
    const kept = [...keptBackups(made, now)].sort((a, b) => b - a).map((each) => new Date(each).toISOString().slice(0, 16));
    // 22, 15 and 8 November 2026 are Sundays: the ends of the weeks before the running one.
    expect(kept).toEqual([
      "2026-11-27T21:15", "2026-11-26T23:45", "2026-11-25T23:45", "2026-11-24T23:45", "2026-11-23T23:45", "2026-11-22T23:45", "2026-11-21T23:45",
      "2026-11-15T23:45", "2026-11-08T23:45",
    ]);
  });

  test("days and weeks without a backup do not count, and nothing is older than 35 days", () => {
    const now = at("2026-11-27T12:00");
    const made = ["2026-11-27T11:00", "2026-11-12T09:00", "2026-11-12T08:00", "2026-10-24T09:00", "2026-10-22T12:00", "2026-10-01T09:00"].map(at);
    expect([...keptBackups(made, now)].sort((a, b) => b - a)).toEqual([made[0], made[1], made[3]]);
  });

  // The rules said again, in other words: seven daily and four weekly ones, all within 35 days; ours, no source.
  test("whenever they were made: each of the last seven days and four weeks that have one, and no more than eleven", () => {
    const now = at("2026-11-27T12:00");
    const age = fc.integer({ min: 0, max: 80 * 96 });
    fc.assert(fc.property(fc.uniqueArray(age, { minLength: 1, maxLength: 200 }), (ages) => {
      const made = ages.map((n) => now - n * QUARTER_MS);
      const kept = keptBackups(made, now);
      expect(kept.size).toBeLessThanOrEqual(11);
      expect(kept.has(Math.max(...made))).toBe(true);
      for (const each of kept) expect(made).toContain(each);
      const young = made.filter((each) => now - each <= 35 * DAY_MS);
      for (const each of kept) if (each !== Math.max(...made)) expect(young).toContain(each);
      const days = [...new Set(young.map((each) => new Date(each).toISOString().slice(0, 10)))].sort().slice(-7);
      for (const day of days) {
        const newest = Math.max(...young.filter((each) => new Date(each).toISOString().startsWith(day)));
        expect(kept.has(newest)).toBe(true);
      }
    }));
  });
});

describe("the clock", () => {
  const now = at("2036-11-27T12:00");
  test("a jump of years takes no backup away, until one of another day stands beside the new one", () => {
    const old = ["2026-11-26T12:00", "2026-11-27T11:45"].map(at);
    expect(isClockDoubtful([...old, now], now)).toBe(true);
    expect(isClockDoubtful([...old, now - QUARTER_MS, now], now)).toBe(true);
    expect(isClockDoubtful([...old, now - DAY_MS, now], now)).toBe(false);
  });
  test("usual days are not doubted, and neither is the first backup", () => {
    expect(isClockDoubtful([now], now)).toBe(false);
    expect(isClockDoubtful([now - 40 * DAY_MS, now - DAY_MS, now], now)).toBe(false);
  });
});
