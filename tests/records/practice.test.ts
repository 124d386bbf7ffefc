import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { promiseMinutesOf, promisesOf, weekOf } from "@/app/desk/practice/hours";
import { database } from "@/db/client";
import { workingHours } from "@/db/schema/practice";
import { grant } from "@/lib/access/grant";
import { PhoneNumber } from "@/lib/domain/words/phone-number.schema";
import { readCalendar } from "@/lib/records/calendar";
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
  expect((await read()).hours?.promiseMinutes).toEqual({ "photo-set": 480, question: 480, symptom: 480 });
});

it("keeps new hours with several spans a day", async () => {
  const week = weekOf({ "day-1": "9:00-12:30, 13:30–17:00", "day-3": "22:00-02:00" });
  expect(week).toEqual({ 1: [["09:00", "12:30"], ["13:30", "17:00"]], 3: [["22:00", "02:00"]] });
  if (week === null) throw new Error("the week was read");
  const promiseMinutes = { "photo-set": 90, question: 600, symptom: 60 };
  done(await setHours(await settings(), { week, promiseMinutes }, NOW));
  expect((await read()).hours).toEqual({ week, promiseMinutes, effectiveFrom: NOW });
});

it("reads no hours that overlap or are none, and no promise of nothing", () => {
  for (const typed of ["9-12", "09:00-12:00, 11:00-13:00", "09:00", "25:00-26:00", "09:00-09:00", "morning"]) expect(weekOf({ "day-1": typed })).toBeNull();
  expect(weekOf({ "day-1": " " })).toEqual({});
  expect([promiseMinutesOf("1,5"), promiseMinutesOf("8"), promiseMinutesOf("0"), promiseMinutesOf("-1"), promiseMinutesOf("soon")]).toEqual([90, 480, null, null, null]);
});

it("promises each kind its own time, and what hurts never later than a photo", async () => {
  expect(promisesOf({ photoHours: "8", questionHours: "12,5", symptomHours: "1.5" })).toEqual({ "photo-set": 480, question: 750, symptom: 90 });
  expect(promisesOf({ photoHours: "8", questionHours: "", symptomHours: "1" })).toBeNull();
  const slow = { week: {}, promiseMinutes: { "photo-set": 90, question: 60, symptom: 91 } };
  expect(codeOf(await setHours(await settings(), slow, NOW))).toBe("promise-symptom-longest");
  const columns = { practiceId: "practice", week: "{}", timeZone: "UTC", recordedBy: "lead", recordedAt: 0, promiseMinutes: 90, questionMinutes: 60 };
  expect(() => database().insert(workingHours).values({ ...columns, id: "slow", effectiveFrom: 1, symptomMinutes: 91 }).run()).toThrow("working_hours_symptom");
});

it("a phone number is one that can be called, or none", () => {
  for (const number of ["", "01632 960100", "+44 (0)1632 960100", "(01632) 960-100", " 999 "]) expect(PhoneNumber.safeParse(number).success, number).toBe(true);
  for (const number of ["+", "ask Ines", "01632;ext=1", "javascript:1", "1".repeat(41)]) expect(PhoneNumber.safeParse(number).success, number).toBe(false);
});

it("another zone holds from now on, with the hours as they were", async () => {
  const { version, name } = await read();
  const before = readCalendar("practice");
  done(await setPractice(await settings(), { name, phone: "01632 960100", timeZone: "Asia/Kathmandu", photoWeeks: 8, readBackHours: 24, retentionMonths: 12, familyMegabytes: 5000, ...AGES, version }, NOW));
  const [first, second, ...more] = readCalendar("practice").versions;
  expect(more).toEqual([]);
  expect(first).toEqual(before.versions[0]);
  expect(second).toEqual({ ...first, effectiveFrom: NOW, zone: "Asia/Kathmandu" });
  done(await setPractice(await settings(), { name: "Renamed", phone: "", timeZone: "Asia/Kathmandu", photoWeeks: 8, readBackHours: 24, retentionMonths: 12, familyMegabytes: 5000, ...AGES, version: version + 1 }, NOW));
  expect(readCalendar("practice").versions).toHaveLength(2);
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

const AGES = { ownSignInAge: 15, adultAge: 18 };

it("refuses settings based on an older version", async () => {
  const { version, name } = await read();
  done(await setPractice(await settings(), { name, phone: "01632 960100", timeZone: "Australia/Lord_Howe", photoWeeks: 6, readBackHours: 24, retentionMonths: 12, familyMegabytes: 5000, ...AGES, version }, NOW));
  expect(codeOf(await setPractice(await settings(), { name, phone: "01632 960100", timeZone: "Europe/London", photoWeeks: 8, readBackHours: 24, retentionMonths: 12, familyMegabytes: 5000, ...AGES, version }, NOW))).toBe("stale-version");
  expect(await read()).toMatchObject({ timeZone: "Australia/Lord_Howe", phone: "01632 960100", photoWeeks: 6, readBackHours: 24, ages: AGES, version: version + 1 });
  const swapped = { name, phone: "", timeZone: "Europe/London", photoWeeks: 8, readBackHours: 24, retentionMonths: 12, familyMegabytes: 5000, ownSignInAge: 18, adultAge: 17, version: version + 1 };
  expect(codeOf(await setPractice(await settings(), swapped, NOW))).toBe("ages-disagree");
});
