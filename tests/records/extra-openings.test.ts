import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { spansOf } from "@/app/desk/practice/hours";
import { grant } from "@/lib/access/grant";
import { dueAt, isOpen } from "@/lib/domain/time/working-time";
import { readCalendar } from "@/lib/records/calendar";
import { addOpening, openingsOf, removeOpening } from "@/lib/records/extra-openings";
import { addClosure } from "@/lib/records/practice";
import { codeOf, deskWorld, done, NOW, refused } from "@/tests/records/desk-scene";

const HOUR = 3_600_000;
/** March 2026 in London: the wall clock is UTC. `NOW` is on Monday the 2nd; the practice works Monday to Friday, 9 to 17. */
const at = (day: number, hour: number) => Date.UTC(2026, 2, day, hour);
const FRIDAY_LATE = at(6, 16);

let world: ReturnType<typeof deskWorld>;
beforeEach(() => {
  world = deskWorld();
});
afterEach(() => world.close());

const settings = () => grant(world.lead, "practice.settings", null);
const read = async (now = NOW) => openingsOf(await grant(world.therapist, "practice.read", null), now);
const add = async (day: string, spans: readonly (readonly [string, string])[], now = NOW) => addOpening(await settings(), { day, spans }, now);
const due = () => dueAt(readCalendar("practice"), "photo-set", FRIDAY_LATE);

describe("extra openings", () => {
  it("count on their date, several spans of them, until they are taken out", async () => {
    expect(due()).toBe(at(9, 16));
    done(await add("2026-03-07", [["10:00", "12:00"], ["14:00", "15:00"]]));
    expect(due()).toBe(at(9, 13));
    const [opening] = await read();
    expect(opening).toMatchObject({ day: "2026-03-07", spans: [["10:00", "12:00"], ["14:00", "15:00"]] });
    done(await removeOpening(await settings(), opening?.id ?? "", NOW + HOUR));
    expect(await read()).toEqual([]);
    expect(due()).toBe(at(9, 16));
    expect(codeOf(await removeOpening(await settings(), opening?.id ?? "", NOW + HOUR))).toBe("stale-version");
  });

  it("hold on a closed day, and run past midnight where they say so", async () => {
    done(await addClosure(await settings(), { day: "2026-03-09", label: "Holiday" }, NOW));
    done(await add("2026-03-09", [["22:00", "01:00"]]));
    const calendar = readCalendar("practice");
    expect([at(9, 10), at(9, 21), at(9, 22), at(10, 0), at(10, 1)].map((instant) => isOpen(calendar, instant))).toEqual([false, false, true, true, false]);
  });

  it("never change what has been: none in the past, and what was open stays counted when one is taken out on the day", async () => {
    expect(codeOf(await add("2026-03-01", [["10:00", "12:00"]]))).toBe("dates-disagree");
    done(await add("2026-03-07", [["10:00", "14:00"]]));
    const [opening] = await read();
    done(await removeOpening(await settings(), opening?.id ?? "", at(7, 12)));
    expect(due()).toBe(at(9, 14));
    done(await add("2026-03-08", [["10:00", "14:00"]], at(7, 13)));
    const [sunday] = await read(at(7, 13));
    expect(codeOf(await removeOpening(await settings(), sunday?.id ?? "", at(9, 9)))).toBe("stale-version");
  });

  it("overlap with no other of that day, in one form or in two", async () => {
    done(await add("2026-03-07", [["10:00", "12:00"]]));
    expect(codeOf(await add("2026-03-07", [["11:00", "13:00"]]))).toBe("openings-overlap");
    expect(codeOf(await add("2026-03-07", [["08:00", "11:00"]]))).toBe("openings-overlap");
    expect(codeOf(await add("2026-03-08", [["10:00", "12:00"], ["11:30", "13:00"]]))).toBe("form-invalid");
    expect(codeOf(await add("2026-03-08", []))).toBe("form-invalid");
    done(await add("2026-03-07", [["12:00", "13:00"]]));
    expect((await read()).map(({ spans }) => spans)).toEqual([[["10:00", "12:00"]], [["12:00", "13:00"]]]);
    expect([spansOf("9:00-12:30, 22:00–02:00"), spansOf(""), spansOf("10:00-12:00, 11:00-13:00"), spansOf("ten")]).toEqual([[["09:00", "12:30"], ["22:00", "02:00"]], null, null, null]);
  });

  it("are the lead's to plan and the staff's to read", async () => {
    for (const who of [world.therapist, world.mother, world.stranger]) expect(await refused(grant(who, "practice.settings", null))).toMatch(/404/);
    done(await add("2026-03-07", [["10:00", "12:00"]]));
    expect(await read()).toHaveLength(1);
    expect(await openingsOf(await grant(world.outsider, "practice.read", null), NOW).catch((error: Error) => error.message)).toBe("the practice is missing");
  });
});
