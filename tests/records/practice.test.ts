import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { promiseMinutesOf, weekOf } from "@/app/desk/practice/hours";
import { grant } from "@/lib/access/grant";
import { addClosure, practiceOf, removeClosure, setHours, setPractice } from "@/lib/records/practice";
import { codeOf, deskWorld, done, NOW, refused } from "@/tests/records/desk-scene";

let world: ReturnType<typeof deskWorld>;
beforeEach(() => {
  world = deskWorld();
});
afterEach(() => world.close());

const read = async () => practiceOf(await grant(world.therapist, "practice.read", null), NOW);
const settings = () => grant(world.lead, "practice.settings", null);

it("is the lead's to change and the staff's to read", async () => {
  for (const who of [world.therapist, world.mother, world.stranger]) expect(await refused(grant(who, "practice.settings", null))).toMatch(/404/);
  expect(await refused(grant(world.mother, "practice.read", null))).toMatch(/404/);
  expect((await read()).hours?.promiseMinutes).toBe(480);
});

it("keeps new hours with several spans a day", async () => {
  const week = weekOf({ "day-1": "9:00-12:30, 13:30–17:00", "day-3": "22:00-02:00" });
  expect(week).toEqual({ 1: [["09:00", "12:30"], ["13:30", "17:00"]], 3: [["22:00", "02:00"]] });
  if (week === null) throw new Error("the week was read");
  done(await setHours(await settings(), { week, promiseMinutes: 90 }, NOW));
  expect((await read()).hours).toEqual({ week, promiseMinutes: 90, effectiveFrom: NOW });
});

it("reads no hours that overlap or are none, and no promise of nothing", () => {
  for (const typed of ["9-12", "09:00-12:00, 11:00-13:00", "09:00", "25:00-26:00", "09:00-09:00", "morning"]) expect(weekOf({ "day-1": typed })).toBeNull();
  expect(weekOf({ "day-1": " " })).toEqual({});
  expect([promiseMinutesOf("1,5"), promiseMinutesOf("8"), promiseMinutesOf("0"), promiseMinutesOf("-1"), promiseMinutesOf("soon")]).toEqual([90, 480, null, null, null]);
});

describe("closures", () => {
  it("come and go while they lie ahead", async () => {
    done(await addClosure(await settings(), { day: "2026-03-04", label: "Training" }, NOW));
    const [closure] = (await read()).closures;
    expect(closure).toMatchObject({ day: "2026-03-04", label: "Training" });
    done(await removeClosure(await settings(), closure?.id ?? "", NOW));
    expect((await read()).closures).toEqual([]);
    expect(codeOf(await removeClosure(await settings(), closure?.id ?? "", NOW))).toBe("stale-version");
  });

  it("never change what has been", async () => {
    expect(codeOf(await addClosure(await settings(), { day: "2026-03-01", label: "Late" }, NOW))).toBe("dates-disagree");
    done(await addClosure(await settings(), { day: "2026-03-02", label: "Today" }, NOW));
    const [closure] = (await read()).closures;
    expect(codeOf(await removeClosure(await settings(), closure?.id ?? "", NOW + 86_400_000))).toBe("stale-version");
  });
});

it("refuses settings based on an older version", async () => {
  const { version, name } = await read();
  done(await setPractice(await settings(), { name, timeZone: "Australia/Lord_Howe", photoWeeks: 6, version }, NOW));
  expect(codeOf(await setPractice(await settings(), { name, timeZone: "Europe/London", photoWeeks: 8, version }, NOW))).toBe("stale-version");
  expect(await read()).toMatchObject({ timeZone: "Australia/Lord_Howe", photoWeeks: 6, version: version + 1 });
});
