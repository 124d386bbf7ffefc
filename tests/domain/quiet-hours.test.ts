import { assert, constantFrom, integer, oneof, pre, property, tuple } from "fast-check";
import { describe, expect, it } from "vitest";
import { quietEnd, type QuietHours } from "@/lib/domain/notices/quiet-hours";
import { localOf, MINUTE_MS } from "@/lib/domain/time/local";

const NIGHT: QuietHours = { from: 21 * 60, until: 7 * 60 };
const at = (iso: string): number => Date.parse(iso);

/** The rule said again, a minute at a time: does this minute of the wall clock lie in the quiet span? */
function minuteByMinute(instant: number, zone: string, { from, until }: QuietHours): number | null {
  const isQuiet = (t: number): boolean => {
    const { hour, minute } = localOf(t, zone);
    for (let m = from; m !== until; m = (m + 1) % 1440) if (m === hour * 60 + minute) return true;
    return false;
  };
  if (!isQuiet(instant)) return null;
  let t = instant;
  while (isQuiet(t)) t += MINUTE_MS;
  return t;
}

describe("quiet hours", () => {
  it("end in the morning of the same night", () => {
    expect(quietEnd(at("2026-03-03T22:30:00Z"), "Europe/London", NIGHT)).toBe(at("2026-03-04T07:00:00Z"));
    expect(quietEnd(at("2026-03-04T06:59:59.999Z"), "Europe/London", NIGHT)).toBe(at("2026-03-04T07:00:00Z"));
    expect(quietEnd(at("2026-03-04T07:00:00Z"), "Europe/London", NIGHT)).toBeNull();
    expect(quietEnd(at("2026-03-03T20:59:59Z"), "Europe/London", NIGHT)).toBeNull();
  });

  // Clock changes of the European Union: Directive 2000/84/EC, last Sundays of March and October at 01:00 UTC.
  it("follow the wall clock through both changes of the year", () => {
    expect(quietEnd(at("2026-03-28T22:00:00Z"), "Europe/Berlin", NIGHT)).toBe(at("2026-03-29T05:00:00Z"));
    expect(quietEnd(at("2026-10-24T22:00:00Z"), "Europe/Berlin", NIGHT)).toBe(at("2026-10-25T06:00:00Z"));
  });

  it("that would end in a skipped hour end with the jump, and a repeated hour is quiet twice", () => {
    // Berlin jumps from 02:00 to 03:00 at 01:00 UTC.
    expect(quietEnd(at("2026-03-29T00:30:00Z"), "Europe/Berlin", { from: 60, until: 150 })).toBe(at("2026-03-29T01:00:00Z"));
    // 02:00 to 03:00 comes twice on 25 October: at 00:00 and at 01:00 UTC.
    const twice = { from: 120, until: 150 };
    expect(quietEnd(at("2026-10-25T00:10:00Z"), "Europe/Berlin", twice)).toBe(at("2026-10-25T00:30:00Z"));
    expect(quietEnd(at("2026-10-25T00:30:00Z"), "Europe/Berlin", twice)).toBeNull();
    expect(quietEnd(at("2026-10-25T01:10:00Z"), "Europe/Berlin", twice)).toBe(at("2026-10-25T01:30:00Z"));
  });

  it("hold what a minute-by-minute reading says, in zones that change by an hour, half an hour or a day", () => {
    const zones = constantFrom("Europe/London", "America/St_Johns", "Australia/Lord_Howe", "Asia/Kathmandu", "Pacific/Apia", "Africa/Casablanca", "America/Havana", "UTC");
    const minute = integer({ min: 0, max: 1439 });
    // From 2011, when Apia skipped a whole day, to 2027; near a change of the clock every other time.
    const instants = oneof(
      integer({ min: at("2011-12-29T00:00:00Z") / MINUTE_MS, max: at("2027-12-31T00:00:00Z") / MINUTE_MS }),
      tuple(constantFrom("2011-12-30T10:00:00Z", "2026-03-29T01:00:00Z", "2026-10-25T01:00:00Z", "2026-04-04T15:00:00Z", "2026-10-03T15:30:00Z", "2026-11-01T04:30:00Z", "2026-03-08T05:30:00Z"), integer({ min: -1500, max: 1500 }))
        .map(([iso, by]) => at(iso) / MINUTE_MS + by),
    );
    assert(property(zones, instants, minute, minute, (zone, instant, from, until) => {
      pre(from !== until);
      expect(quietEnd(instant * MINUTE_MS, zone, { from, until })).toBe(minuteByMinute(instant * MINUTE_MS, zone, { from, until }));
    }), { numRuns: 400 });
  });
});
