import * as fc from "fast-check";
import { describe, expect, it } from "vitest";
import { expectation } from "@/lib/domain/time/expectation";
import { formatSoon } from "@/lib/domain/time/format";
import { localOf } from "@/lib/domain/time/local";
import { dueAt } from "@/lib/domain/time/working-time";
import { PROMISED, type CalendarHistory } from "@/lib/domain/time/working-week";

const at = (text: string) => Date.parse(text);
const DAY = [["09:00", "17:00"]] as const;
const HOUR = 3_600_000;
const inZone = (zone: string): CalendarHistory => ({
  zone, closures: [], openings: [],
  versions: [{ effectiveFrom: 0, zone, week: { 1: DAY, 2: DAY, 3: DAY, 4: DAY, 5: DAY }, promiseMs: { "photo-set": 8 * HOUR, question: 12 * HOUR, symptom: HOUR } }],
});

describe("an expectation", () => {
  it("is the promise of its kind, rounded to the quarter after it, and says when the practice opens before that", () => {
    const [london, friday] = [inZone("Europe/London"), at("2026-03-06T16:07:12Z")];
    expect(expectation(london, "photo-set", friday, friday)).toEqual({ is: "by", by: at("2026-03-09T16:15:00Z"), opensAt: null });
    expect(expectation(london, "symptom", friday, at("2026-03-06T17:00:00Z"))).toEqual({ is: "by", by: at("2026-03-09T09:15:00Z"), opensAt: at("2026-03-09T09:00:00Z") });
    expect(expectation(london, "photo-set", friday, at("2026-03-09T16:15:00Z"))).toMatchObject({ is: "by" });
    expect(expectation(london, "photo-set", friday, at("2026-03-09T16:15:00.001Z"))).toEqual({ is: "late", by: at("2026-03-09T16:15:00Z") });
  });

  it("has none without hours", () => {
    expect(expectation({ ...inZone("UTC"), versions: [] }, "photo-set", 0, 0)).toEqual({ is: "unknown" });
  });

  it("is on a quarter of the practice's wall clock, never before what is due, and less than a quarter after it", () => {
    fc.assert(fc.property(
      fc.constantFrom("Europe/London", "Asia/Kathmandu", "Australia/Lord_Howe", "America/St_Johns"), fc.constantFrom(...PROMISED),
      fc.integer({ min: at("2026-01-01T00:00:00Z"), max: at("2026-12-31T00:00:00Z") }),
      (zone, kind, arrivedAt) => {
        const due = dueAt(inZone(zone), kind, arrivedAt) ?? Number.NaN;
        const said = expectation(inZone(zone), kind, arrivedAt, arrivedAt);
        if (said.is !== "by") throw new Error("nothing is late when it arrives");
        expect(said.by - due).toBeGreaterThanOrEqual(0);
        expect(said.by - due).toBeLessThan(900_000);
        expect([localOf(said.by, zone).minute % 15, localOf(said.by, zone).second, localOf(said.by, zone).millisecond]).toEqual([0, 0, 0]);
      },
    ));
  });
});

it("a weekday alone names today and the six days to come; anything else has its date", () => {
  const now = at("2026-03-04T12:00:00Z");
  expect(formatSoon(now, now, "Europe/London")).toBe("Wed 12:00");
  expect(formatSoon(at("2026-03-10T23:59:00Z"), now, "Europe/London")).toBe("Tue 23:59");
  expect(formatSoon(at("2026-03-11T00:00:00Z"), now, "Europe/London")).toBe("Wed 11 Mar, 00:00");
  expect(formatSoon(at("2026-03-03T23:59:00Z"), now, "Europe/London")).toBe("Tue 3 Mar, 23:59");
  expect(formatSoon(at("2026-03-11T00:00:00Z"), now, "Europe/London", "es")).toBe("miércoles 11 de marzo, 00:00");
});
