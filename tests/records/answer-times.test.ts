import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { answers } from "@/db/schema/answers";
import { photoSets, symptomClearances, symptomReports } from "@/db/schema/photos";
import { grant } from "@/lib/access/grant";
import { answerTimes, timedSets } from "@/lib/records/answer-times";
import { sentByChild } from "@/lib/records/families";
import { addClosure, setHours } from "@/lib/records/practice";
import { queueOf } from "@/lib/records/queue";
import { confirmSetup } from "@/lib/records/setups";
import { deskWorld, done, enter, EXERCISE, NOW, refused } from "@/tests/records/desk-scene";
import { allOf } from "@/tests/records/in-lots";

const HOUR = 3_600_000;
/** March 2026 in London, before summer time: the wall clock is UTC. 27 February is a Friday, 2 March a Monday. */
const at = (month: number, day: number, hour: number) => Date.UTC(2026, month - 1, day, hour);
const TUESDAY_NOON = at(3, 3, 12);
const DAY = [["09:00", "17:00"]] as const;
const WEEK = { 1: DAY, 2: DAY, 3: DAY, 4: DAY, 5: DAY };

let world: ReturnType<typeof deskWorld>;
let setupId: string;
beforeEach(async () => {
  world = deskWorld();
  const { id } = done(await enter(world.therapist, "child-1"));
  const confirmed = await confirmSetup(await grant(world.therapist, "setup.confirm", "child-1"), { exerciseKey: EXERCISE, exerciseVersion: 1, recordId: id, apexSpot: "the spot", lieOn: "left" }, NOW);
  setupId = done(confirmed).id;
});
afterEach(() => world.close());

function send(id: string, sentAt: number | null, answeredAt: number | null = null, isVoid = false): void {
  const child = { childId: "child-1", familyId: "family-a" };
  database().insert(photoSets).values({
    id, ...child, exerciseKey: EXERCISE, phase: "position", setupId, sentBy: "mother", startedAt: 0, sentAt,
    ...(isVoid ? { voidedAt: sentAt, voidReason: "wrong-child" as const } : {}),
  }).run();
  if (answeredAt !== null) {
    database().insert(answers).values({
      id: `answer-${id}`, ...child, photoSetId: id, kind: "answer", summary: "", nextStep: "keep-going", answeredBy: "therapist", answeredAt, publishedAt: answeredAt,
    }).run();
  }
}

const read = async (now = TUESDAY_NOON) => answerTimes(await grant(world.therapist, "times.read", null), "week", now);

/** Worked by hand on Monday to Friday, 9 to 17, with 8 working hours promised. */
function sendFive(): void {
  send("friday", at(2, 27, 16)); // due Monday 16; waits 1 + 8 + 3 hours
  send("monday-early", at(3, 2, 9), at(3, 2, 11)); // 2 hours
  send("monday", at(3, 2, 13)); // due Tuesday 13; waits 4 + 3 hours
  send("monday-late", at(3, 2, 16), at(3, 3, 10)); // 1 + 1 hours
  send("tuesday", at(3, 3, 10)); // due Wednesday 10; waits 2 hours
}

describe("answer times", () => {
  it("says nothing of nothing", async () => {
    expect(await read()).toMatchObject({ waiting: 0, oldest: null, overdue: 0, dueToday: 0, median: { estimate: null }, within: { count: 0, of: 0, interval: null } });
  });

  it("runs the clock in working time only", async () => {
    sendFive();
    const sets = await allOf(timedSets(await grant(world.lead, "times.read", null), TUESDAY_NOON));
    expect(sets.map((set) => [set.photoSetId, set.workingMs / HOUR, set.dueAt])).toEqual([
      ["friday", 12, at(3, 2, 16)], ["monday-early", 2, at(3, 2, 17)], ["monday", 7, at(3, 3, 13)], ["monday-late", 2, at(3, 3, 16)], ["tuesday", 2, at(3, 4, 10)],
    ]);
  });

  it("counts the open ones as open", async () => {
    sendFive();
    const times = await read();
    expect(times).toMatchObject({ waiting: 3, overdue: 1, dueToday: 1, oldest: { sentAt: at(2, 27, 16), workingMs: 12 * HOUR }, curve: { n: 5, open: 3 } });
    // Product-limit by hand: two answers among five at 2 hours leave 3/5, then none more.
    expect(times.curve.steps.map((step) => [step.time / HOUR, step.atRisk, step.events, step.survival])).toEqual([[2, 5, 2, 0.6], [7, 2, 0, 0.6], [12, 1, 0, 0.6]]);
    // With the open ones left out it would be 2 hours; with them, half were not answered yet.
    expect(times.median.estimate).toBeNull();
  });

  it("counts an overdue one against the promise, and nobody's before it is due", async () => {
    sendFive();
    const { within } = await read();
    expect([within.count, within.of]).toEqual([2, 3]);
    // Wilson's formula for 2 of 3 with z = 1.96, worked by hand.
    expect(within.interval?.lower).toBeCloseTo(0.2077, 3);
    expect(within.interval?.upper).toBeCloseTo(0.9385, 3);
  });

  it("leaves out what was not sent, and what was sent for the wrong child", async () => {
    send("unsent", null);
    send("wrong", at(3, 2, 9), null, true);
    expect(await read()).toMatchObject({ waiting: 0, curve: { n: 0 } });
  });

  it("is not for families, and shows another practice's staff nothing", async () => {
    sendFive();
    for (const who of [world.mother, world.stranger]) expect(await refused(grant(who, "times.read", null))).toMatch(/404/);
    // A practice that does not exist has no clock either.
    expect(await refused(grant(world.outsider, "times.read", null).then((granted) => answerTimes(granted, "week", TUESDAY_NOON)))).not.toBe("granted");
  });
});

it("lists the last photo and how many wait, per child", async () => {
  sendFive();
  send("wrong", at(3, 3, 11), null, true);
  expect(await sentByChild(await grant(world.therapist, "families.read", null), ["child-1", "child-2", "child-3"])).toEqual([{ childId: "child-1", lastSentAt: at(3, 3, 10), waiting: 3 }]);
});

describe("when the hours change", () => {
  it("keeps what was due before by the hours in force then", async () => {
    sendFive();
    const reading = await grant(world.therapist, "times.read", null);
    const before = await allOf(timedSets(reading, TUESDAY_NOON));
    done(await setHours(await grant(world.lead, "practice.settings", null), { week: { 3: [["10:00", "12:00"], ["14:00", "18:00"]] }, promiseMinutes: { "photo-set": 180, question: 240, symptom: 60 } }, TUESDAY_NOON));
    send("after", at(3, 3, 13));
    const after = await allOf(timedSets(reading, TUESDAY_NOON + HOUR));
    const dueOf = (sets: typeof before, id: string) => sets.find((set) => set.photoSetId === id)?.dueAt;
    for (const id of ["friday", "monday-early"]) expect(dueOf(after, id)).toBe(dueOf(before, id));
    // Closed until Wednesday: two hours of the first span, one of the second.
    expect(dueOf(after, "after")).toBe(at(3, 4, 15));
    expect((await read(TUESDAY_NOON + HOUR)).overdue).toBe(1);
  });

  it("moves a due time past a closure to come", async () => {
    send("tuesday", at(3, 3, 10));
    done(await addClosure(await grant(world.lead, "practice.settings", null), { day: "2026-03-04", label: "Training" }, TUESDAY_NOON));
    const [set] = await allOf(timedSets(await grant(world.therapist, "times.read", null), TUESDAY_NOON));
    expect(set?.dueAt).toBe(at(3, 5, 10));
  });
});

describe("each kind by its own promise", () => {
  it("counts a symptom flag from the report until it was spoken about, in the queue and in the figures", async () => {
    done(await setHours(await grant(world.lead, "practice.settings", null), { week: WEEK, promiseMinutes: { "photo-set": 480, question: 960, symptom: 120 } }, at(3, 2, 8)));
    send("photo", at(3, 3, 9));
    const flags = [["spoken", 9, 10], ["late", 10, 14], ["open", 11, null]] as const;
    for (const [id, from, cleared] of flags) {
      database().insert(symptomReports).values({ id, childId: "child-1", familyId: "family-a", tier: "today", symptoms: '["dizzy"]', reportedBy: "mother", reportedAt: at(3, 3, from) }).run();
      if (cleared) database().insert(symptomClearances).values({ id, childId: "child-1", familyId: "family-a", reportId: id, spokeTo: "Mother", outcome: "Seen", clearedBy: "therapist", clearedAt: at(3, 3, cleared) }).run();
    }
    // Tuesday 14:30: the open one waits 3.5 of 2 promised hours. Worked by hand.
    const { kinds, curve } = await read(at(3, 3, 14) + HOUR / 2);
    expect(kinds.symptom).toMatchObject({
      waiting: 1, overdue: 1, dueToday: 0, oldest: { since: at(3, 3, 11), dueAt: at(3, 3, 13), workingMs: 3.5 * HOUR },
      figures: { curve: { n: 3, open: 1 }, within: { count: 1, of: 3 }, median: { estimate: 4 * HOUR } },
    });
    expect(curve).toMatchObject({ n: 1, open: 1 });
    const { symptoms } = await queueOf(await grant(world.therapist, "queue.read", null), at(3, 3, 12));
    expect(symptoms.map(({ dueAt, leftMs, isOverdue }) => [dueAt, leftMs, isOverdue])).toEqual([[at(3, 3, 13), HOUR, false]]);
  });
});
