import { describe, expect, it } from "vitest";
import canary from "@/tests/checks/zone-canary.json";
import transitions from "@/tests/checks/zone-transitions.json";
import { formatDate, formatDateTime, formatLocalDate, formatTime } from "@/lib/domain/time/format";
import { HOST_ZONE_PROBES, hostZoneDataDiffers, hostZoneWarning } from "@/lib/domain/time/host-zone-data";
import { addDays, endOfLocalDay, instantOf, isLocalDate, localDate, localOf } from "@/lib/domain/time/local";
import { warnOfHostZones } from "@/lib/jobs/host-zones";
import { ZONE_DATA_VERSION, isZone, offsetAt, zoneNames } from "@/lib/domain/time/zone";
import { workingMsBetween } from "@/lib/domain/time/working-time";

const at = (text: string) => Date.parse(text);

/** The wall clock as an ISO string with its offset, as the check files write it. */
function wallClock(instant: number, zone: string): string {
  const { offsetMinutes } = localOf(instant, zone);
  const wall = new Date(instant + offsetMinutes * 60_000).toISOString().slice(0, 19);
  const size = Math.abs(offsetMinutes);
  const two = (value: number) => String(value).padStart(2, "0");
  return `${wall}${offsetMinutes < 0 ? "-" : "+"}${two(Math.floor(size / 60))}:${two(size % 60)}`;
}

describe("zone data", () => {
  it("is the IANA release the app ships, 2026f", () => {
    expect(ZONE_DATA_VERSION).toBe("2026f");
  });

  it("knows zones by exact spelling", () => {
    expect(isZone("Europe/London")).toBe(true);
    expect(isZone("europe/london")).toBe(false);
    expect(isZone("Mars/Olympus")).toBe(false);
    expect(isZone("__proto__")).toBe(false);
    expect(zoneNames()).toContain("Pacific/Apia");
    expect(() => localDate(0, "Mars/Olympus")).toThrow(RangeError);
    expect(() => localDate(Number.NaN, "Europe/London")).toThrow(RangeError);
  });

  it("holds 26 rows", () => expect(transitions.rows).toHaveLength(26));
  it.each(transitions.rows)("$zone changes at $instant", ({ zone, instant, lastSecondBefore, firstSecondAfter }) => {
    expect(wallClock(at(instant) - 1000, zone)).toBe(lastSecondBefore);
    expect(wallClock(at(instant), zone)).toBe(firstSecondAfter);
  });
});

describe("rules changed in 2026, where machines are oldest", () => {
  const day = [["09:00", "17:00"]] as const;
  const week = { "1": day, "2": day, "3": day, "4": day, "5": day };
  const minutesOf = (offset: string) => (offset.startsWith("-") ? -1 : 1) * (Number(offset.slice(1, 3)) * 60 + Number(offset.slice(4)));

  it("holds 6 rows", () => expect(canary.rows).toHaveLength(6));
  it.each(canary.rows)("$zone", (row) => {
    expect(offsetAt(at(row.instant), row.zone)).toBe(minutesOf(row.offset) * 60_000);
    expect(workingMsBetween({ zone: row.zone, week, closures: [], openings: [] }, at(row.start), at(row.end))).toBe(row.minutes * 60_000);
  });

  it("a machine with stale data is found out, one with ours is not", () => {
    const offsets = (key: "offset" | "staleOffset") =>
      canary.rows.map((row) => ({ zone: row.zone, instant: at(row.instant), offsetMinutes: minutesOf(row[key]) }));
    expect(hostZoneDataDiffers(offsets("offset"))).toEqual([]);
    expect(hostZoneDataDiffers(offsets("staleOffset"))).toEqual(canary.rows.map(({ zone }) => zone));
    expect(HOST_ZONE_PROBES).toEqual(canary.rows.map(({ zone, instant }) => ({ zone, instant: at(instant) })));
  });
});

describe("the machine's zone data beside ours", () => {
  const ours = HOST_ZONE_PROBES.map(({ zone, instant }) => ({ zone, instant, offsetMinutes: offsetAt(instant, zone) / 60_000 }));
  const [casablanca, ...rest] = ours;

  it("are no matter where release and rules are ours", () => {
    expect(hostZoneWarning({ version: "2026f", offsets: ours })).toBeNull();
  });

  it("are warned of where the release is another or not known, with the zones in which the machine is wrong", () => {
    expect(hostZoneWarning({ version: "2025c", offsets: ours })).toEqual({ event: "zone-data-differs", shipped: "2026f", host: "2025c", zones: [] });
    expect(hostZoneWarning({ version: null, offsets: ours })).toMatchObject({ host: "unknown" });
    const stale = casablanca ? [{ ...casablanca, offsetMinutes: 60 }, ...rest] : [];
    expect(hostZoneWarning({ version: "2026f", offsets: stale })).toMatchObject({ host: "2026f", zones: ["Africa/Casablanca"] });
  });

  it("are asked of this very machine, in one line and once a process", () => {
    const lines: string[] = [];
    warnOfHostZones((line) => lines.push(line));
    warnOfHostZones((line) => lines.push(line));
    const isSame = process.versions["tz"] === ZONE_DATA_VERSION;
    expect(lines.map((line) => JSON.parse(line).event)).toEqual(isSame ? [] : ["zone-data-differs"]);
    expect(lines.map((line) => JSON.parse(line).host)).toEqual(isSame ? [] : [process.versions["tz"] ?? "unknown"]);
    // By the machine's own answers: the zones named are those whose clock there shows another hour than ours.
    const shown = (zone: string, instant: number) => new Date(instant).toLocaleTimeString("en-GB", { timeZone: zone, hour: "2-digit", minute: "2-digit" });
    const wrong = HOST_ZONE_PROBES.filter(({ zone, instant }) => shown(zone, instant) !== wallClock(instant, zone).slice(11, 16)).map(({ zone }) => zone);
    expect(lines.flatMap((line) => JSON.parse(line).zones)).toEqual(isSame ? [] : wrong);
  });
});

describe("local dates and clocks", () => {
  it("reads the wall", () => {
    expect(localOf(at("2026-03-03T16:20:05.007Z"), "Asia/Kathmandu")).toEqual({
      year: 2026, month: 3, day: 3, weekday: 2, hour: 22, minute: 5, second: 5, millisecond: 7, offsetMinutes: 345,
    });
    expect(localDate(at("1969-12-31T23:30:00Z"), "UTC")).toBe("1969-12-31");
    expect(localOf(at("1969-12-31T23:30:00Z"), "UTC").weekday).toBe(3);
  });

  // RFC 5545, 3.3.5 (from memory): a repeated time is the first, a skipped one is read by the offset before.
  it.each([
    ["2025-11-02", 90, "America/New_York", "2025-11-02T05:30:00Z"],
    ["2025-03-09", 150, "America/New_York", "2025-03-09T07:30:00Z"],
    ["2025-06-03", 540, "America/New_York", "2025-06-03T13:00:00Z"],
    ["2011-12-30", 540, "Pacific/Apia", "2011-12-30T19:00:00Z"],
    ["2011-12-31", 0, "Pacific/Apia", "2011-12-30T10:00:00Z"],
    ["2024-10-06", 135, "Australia/Lord_Howe", "2024-10-05T15:45:00Z"],
    ["2018-11-04", 0, "America/Sao_Paulo", "2018-11-04T03:00:00Z"],
  ])("%s + %i min in %s is %s", (date, minutes, zone, expected) => {
    expect(new Date(instantOf(date, minutes, zone)).toISOString()).toBe(new Date(expected).toISOString());
  });

  it.each([
    ["2026-06-01", "Europe/London", "2026-06-01T23:00:00Z"],
    // Midnight is skipped: the day is over when the clock jumps.
    ["2018-11-03", "America/Sao_Paulo", "2018-11-04T03:00:00Z"],
    // 00:01 went back to 23:01 the day before: the day is over at the second midnight (tzdata, St John's 2010).
    ["2010-11-06", "America/St_Johns", "2010-11-07T03:30:00Z"],
    ["2011-12-29", "Pacific/Apia", "2011-12-30T10:00:00Z"],
    ["2011-12-30", "Pacific/Apia", "2011-12-30T10:00:00Z"],
    ["2011-12-31", "Pacific/Apia", "2011-12-31T10:00:00Z"],
  ])("%s in %s ends at %s", (date, zone, expected) => {
    expect(new Date(endOfLocalDay(date, zone)).toISOString()).toBe(new Date(expected).toISOString());
    expect(localDate(endOfLocalDay(date, zone), zone) > date).toBe(true);
  });

  it("adds days over leap years and refuses what is no date", () => {
    expect(addDays("2024-02-28", 2)).toBe("2024-03-01");
    expect(addDays("2026-01-01", -1)).toBe("2025-12-31");
    expect(["2026-02-30", "2026-13-01", "26-01-01", "", "2026-1-1"].filter(isLocalDate)).toEqual([]);
    expect(isLocalDate("2024-02-29")).toBe(true);
    expect(() => addDays("2026-02-30", 1)).toThrow(RangeError);
  });
});

describe("what people read", () => {
  const instant = at("2026-03-03T16:20:00Z");
  it("says days and times as the screens do", () => {
    expect(formatDateTime(instant, "Europe/London")).toBe("Tue 3 Mar, 16:20");
    expect(formatTime(at("2026-03-02T09:00:00Z"), "Europe/London")).toBe("Mon 09:00");
    expect(formatDate(instant, "Pacific/Kiritimati")).toBe("Wed 4 Mar 2026");
    expect(formatLocalDate("2026-03-03")).toBe("Tue 3 Mar 2026");
  });
});
