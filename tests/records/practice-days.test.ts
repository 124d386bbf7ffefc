import { afterEach, beforeEach, describe, expect, it } from "vitest";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { TAKE_BACK_MS } from "@/lib/domain/answering/publication";
import { isDoneToday, markDone, practiceDaysOf, unmarkDone } from "@/lib/records/practice-days";
import { addSet, answeringWorld, EXERCISE, HOUR, NOW, send } from "@/tests/records/answering-scene";
import { codeOf, done } from "@/tests/records/desk-scene";

/** Wednesday 4 March 2026, 10:00:30 in London: everything was just judged to be in place. */
const OUT = NOW + TAKE_BACK_MS;
const DAY = 24 * HOUR;

let world: ReturnType<typeof answeringWorld>;
beforeEach(async () => {
  world = answeringWorld();
  addSet("set");
  done(await send(world.therapist, "set"));
});
afterEach(() => world.close());

const mark = async (now: number, who: Actor = world.mother, childId = "child-1") => markDone(await grant(who, "practice-day.mark", childId), EXERCISE, now);
const unmark = async (now: number, who: Actor = world.mother, childId = "child-1") => unmarkDone(await grant(who, "practice-day.mark", childId), EXERCISE, now);
const days = async (who: Actor = world.mother, childId = "child-1") => practiceDaysOf(await grant(who, "child.read", childId), EXERCISE);

describe("days practised", () => {
  it("are one a day and exercise, on the family's own date, for family and therapist alike", async () => {
    done(await mark(OUT));
    done(await mark(OUT + HOUR, world.father));
    // 23:59:30 and 00:00:30 of the day after.
    done(await mark(OUT + 2 * DAY + 13 * HOUR + 59 * 60_000));
    done(await mark(OUT + 2 * DAY + 14 * HOUR));
    for (const who of [world.mother, world.father, world.therapist]) expect(await days(who)).toEqual(["2026-03-04", "2026-03-06", "2026-03-07"]);
    expect(await days(world.mother, "child-2")).toEqual([]);
    await expect(days(world.stranger)).rejects.toThrow();
  });

  it("are taken back on the same day alone, by any of the child's carers", async () => {
    done(await mark(OUT));
    done(await unmark(OUT + HOUR, world.father));
    expect(await days()).toEqual([]);
    expect(await isDoneToday(await grant(world.mother, "child.read", "child-1"), EXERCISE, OUT + HOUR)).toBe(false);
    expect(codeOf(await unmark(OUT + HOUR))).toBe("stale-version");
    done(await mark(OUT + 2 * HOUR));
    expect(codeOf(await unmark(OUT + DAY))).toBe("stale-version");
    expect(await days()).toEqual(["2026-03-04"]);
    await expect(unmark(OUT, world.stranger)).rejects.toThrow();
    await expect(unmark(OUT, world.therapist)).rejects.toThrow();
    expect(codeOf(await unmark(OUT, world.mother, "child-2"))).toBe("stale-version");
  });
});
