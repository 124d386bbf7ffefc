import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { careLinks } from "@/db/schema/care";
import { auditEntries, notices } from "@/db/schema/machinery";
import { practices } from "@/db/schema/practice";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { amendAnswer } from "@/lib/records/amendments";
import { answerReadBack, openReadBacks } from "@/lib/records/read-backs";
import { placeStop } from "@/lib/records/stops";
import { remindOfStops, unreadStops, unreadStopsOf } from "@/lib/records/unread-stops";
import { addSet, addSymptom, answer, answeringWorld, HOUR, NOW, send, verdictsOf } from "@/tests/records/answering-scene";
import { codeOf, done } from "@/tests/records/desk-scene";

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => {
  world = answeringWorld();
});
afterEach(() => world.close());

const place = async (childId = "child-1", now = NOW) =>
  done(await placeStop(await grant(world.therapist, "stop.place", childId), { exerciseKey: null, reason: "Wait for my call.", sideReason: "", wordsConfirmed: false }, now)).id;
const queued = async (now: number) => (await unreadStops(await grant(world.therapist, "queue.read", null), now)).map((row) => [row.childId, row.stops.map((stop) => stop.ageMs / HOUR)]);
const onPage = async (now: number, childId = "child-1") => unreadStopsOf(await grant(world.therapist, "stop.remind", childId), now);
const readBack = async (who: Actor, choice: string | null, now: number) => {
  const granted = await grant(who, "read-back.answer", "child-1");
  for (const { stopId, exerciseKey, question } of (await openReadBacks(granted, now)).asked) {
    done(await answerReadBack(granted, { stopId, exerciseKey, question, choice: choice ?? { side: "left", prop: "low-back", practise: "no" }[question] }, now));
  }
};
const remind = async (now: number, childId = "child-1", who: Actor = world.therapist) => remindOfStops(await grant(who, "stop.remind", childId), now);
const reminders = () => database().select({ personId: notices.personId }).from(notices).where(eq(notices.kind, "stop-reminder")).all().map((row) => row.personId).sort();

describe("a stop that nobody read back", () => {
  it("joins the queue after the practice's hours, the oldest first, and leaves it with the first right answer", async () => {
    await place();
    addSymptom("dizzy", "child-3", "today", NOW - HOUR);
    expect(await queued(NOW + 23 * HOUR - 1)).toEqual([]);
    expect(await queued(NOW + 23 * HOUR)).toEqual([["child-3", [24]]]);
    expect(await queued(NOW + 26 * HOUR)).toEqual([["child-3", [27]], ["child-1", [26]]]);
    database().update(practices).set({ readBackHours: 48 }).run();
    expect(await queued(NOW + 26 * HOUR)).toEqual([]);
    database().update(practices).set({ readBackHours: 24 }).run();
    await readBack(world.father, "yes", NOW + 26 * HOUR);
    expect((await queued(NOW + 26 * HOUR)).at(1)).toEqual(["child-1", [26]]);
    await readBack(world.father, null, NOW + 27 * HOUR);
    expect((await queued(NOW + 27 * HOUR)).map(([childId]) => childId)).toEqual(["child-3"]);
    expect((await onPage(NOW + 27 * HOUR)).stops).toEqual([]);
  });

  it("shows its age on the child's page from the first minute, with who is asked", async () => {
    const stopId = await place();
    expect(await onPage(NOW + 60_000)).toMatchObject({ stops: [{ stopId, stopKind: "staff-stop", since: NOW, ageMs: 60_000 }], carers: ["father", "mother"], isReminded: false });
    expect((await onPage(NOW, "child-2")).stops).toEqual([]);
  });

  it("is unread again after the stop's answer was amended", async () => {
    addSet("set");
    const first = done(await send(world.therapist, "set", { verdicts: verdictsOf("in-place", { "side-down": "fix" }), sideReason: "Seen plainly." })).answerId;
    await readBack(world.mother, null, NOW + HOUR);
    expect((await onPage(NOW + HOUR)).stops).toEqual([]);
    const input = answer("set", { verdicts: verdictsOf("in-place", { "side-down": "fix", "prop-low-back": "fix" }), sideReason: "Seen plainly." });
    const second = done(await amendAnswer(await grant(world.therapist, "answer.write", "child-1"), input, { basedOn: first, reason: "The bags too." }, NOW + 2 * HOUR)).answerId;
    expect((await onPage(NOW + 3 * HOUR)).stops).toMatchObject([{ stopId: second, stopKind: "answer", since: NOW + 2 * HOUR }]);
  });

  it("stays in sight when nobody cares for the child here, and nobody who left counts as having read it", async () => {
    await place();
    await readBack(world.mother, null, NOW + HOUR);
    expect((await onPage(NOW + HOUR)).stops).toEqual([]);
    database().update(careLinks).set({ endedAt: NOW + 2 * HOUR }).where(eq(careLinks.childId, "child-1")).run();
    expect(await onPage(NOW + 3 * HOUR)).toMatchObject({ stops: [{ stopKind: "staff-stop" }], carers: [] });
    expect(codeOf(await remind(NOW + 3 * HOUR))).toBe("reminded-today");
  });
});

describe("a reminder", () => {
  it("mails each carer once a day on the practice's day, whichever child it is about, and is audited", async () => {
    await place();
    await place("child-2");
    done(await remind(NOW + HOUR, "child-2"));
    expect(reminders()).toEqual(["mother"]);
    done(await remind(NOW + HOUR));
    expect(reminders()).toEqual(["father", "mother"]);
    expect(codeOf(await remind(NOW + 13 * HOUR))).toBe("reminded-today");
    expect((await onPage(NOW + 13 * HOUR)).isReminded).toBe(true);
    // Wednesday 10:00 in London; the day after begins 14 hours later.
    expect((await onPage(NOW + 14 * HOUR)).isReminded).toBe(false);
    done(await remind(NOW + 14 * HOUR));
    expect(reminders()).toEqual(["father", "father", "mother", "mother"]);
    expect(database().select({ act: auditEntries.act }).from(auditEntries).all().filter(({ act }) => act === "stop.reminded")).toHaveLength(3);
  });

  it("is nobody's but the practice's staff, and none is sent once the stop was read", async () => {
    await place();
    await expect(remind(NOW, "child-1", world.mother)).rejects.toThrow();
    await expect(remind(NOW, "child-1", world.outsider)).rejects.toThrow();
    await readBack(world.mother, null, NOW);
    expect(codeOf(await remind(NOW + 1))).toBe("stale-version");
    expect(reminders()).toEqual([]);
  });
});
