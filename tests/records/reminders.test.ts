import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { like } from "drizzle-orm";
import { database } from "@/db/client";
import { notices } from "@/db/schema/machinery";
import { photoSets, symptomClearances } from "@/db/schema/photos";
import { remindOfPhotos, repeatAlarms } from "@/lib/records/reminders";
import { addSet, addSymptom, answeringWorld, decide, familyOfChild, NOW, send, verdictsOf } from "@/tests/records/answering-scene";

const [MINUTE, DAY] = [60_000, 86_400_000];

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => {
  world = answeringWorld();
});
afterEach(() => world.close());

const told = (kind: string) => database().select({ personId: notices.personId, at: notices.createdAt }).from(notices).where(like(notices.dedupeKey, `${kind}:%`)).all();
const reminded = (): readonly string[] => told("photo-reminder").map(({ personId }) => personId).sort();

describe("reminders of a photo that was asked for", () => {
  /** Asked at NOW, of a child whose go-ahead allows a photo. */
  const ask = async () => {
    addSet("set-1");
    expect((await send(world.therapist, "set-1", { nextStep: "new-photo", nextView: "front" })).ok).toBe(true);
  };
  /** The job as it runs, every hour until then, begun anew each time as after a restart. */
  const runUntil = (days: number, from = 0) => {
    for (let at = NOW + from * DAY; at <= NOW + days * DAY; at += DAY / 24) remindOfPhotos(database(), at);
  };

  it("come twice to each carer of that child and to nobody else, however often it is looked", async () => {
    await ask();
    runUntil(3.9);
    expect(reminded()).toEqual([]);
    runUntil(5, 4);
    expect(reminded()).toEqual(["father", "mother"]);
    runUntil(5, 4);
    expect(reminded()).toEqual(["father", "mother"]);
    runUntil(60, 5);
    expect(reminded()).toEqual(["father", "father", "mother", "mother"]);
  });

  it("stop once a set of that exercise is sent, though not by one sent for the wrong child", async () => {
    await ask();
    addSet("set-2", { sentAt: NOW + DAY });
    runUntil(20);
    expect(reminded()).toEqual([]);
    database().update(photoSets).set({ voidedAt: NOW + 2 * DAY, voidedBy: "lead", voidReason: "wrong-child" }).run();
    database().update(photoSets).set({ voidedAt: null, voidedBy: null, voidReason: null }).where(like(photoSets.id, "set-1")).run();
    runUntil(5);
    expect(reminded()).toEqual(["father", "mother"]);
  });

  it("do not come when consent is withdrawn, a symptom stop is open, or the answer itself is a stop", async () => {
    await ask();
    decide("child-1", "family-a", "withdrawn", 2);
    runUntil(5);
    expect(reminded()).toEqual([]);
    decide("child-1", "family-a", "given", 3);
    addSymptom("report", "child-1", "today", NOW + 4 * DAY);
    runUntil(5);
    expect(reminded()).toEqual([]);
    database().insert(symptomClearances).values({ id: "clear", childId: "child-1", familyId: "family-a", reportId: "report", spokeTo: "mother", outcome: "well", clearedBy: "lead", clearedAt: NOW + 5 * DAY }).run();
    runUntil(6, 5);
    expect(reminded()).toEqual(["father", "mother"]);
    addSet("set-3", { childId: "child-3" });
    expect((await send(world.therapist, "set-3", { nextStep: "new-photo", nextView: "behind", verdicts: verdictsOf("in-place", { "prop-low-back": "fix" }) }, NOW, "child-3")).ok).toBe(true);
    runUntil(12);
    expect(reminded()).not.toContain("stranger");
    // The stop itself went out as one that nobody can switch off.
    expect(told("answer-stop").map(({ personId }) => personId)).toEqual(["stranger"]);
  });

  it("do not come for an answer that asked for nothing", async () => {
    addSet("set-1");
    await send(world.therapist, "set-1");
    runUntil(20);
    expect(reminded()).toEqual([]);
  });
});

describe("the alarm about a symptom", () => {
  const runUntil = (minutes: number, from = 0) => {
    for (let at = NOW + from * MINUTE; at <= NOW + minutes * MINUTE; at += MINUTE) {
      repeatAlarms(database(), at);
      repeatAlarms(database(), at);
    }
  };

  it("goes to each member of staff again every quarter of an hour until somebody spoke with the family", () => {
    addSymptom("report", "child-1", "urgent", NOW);
    runUntil(14);
    expect(told("symptom-urgent")).toEqual([]);
    runUntil(45, 15);
    expect(told("symptom-urgent").map(({ personId }) => personId).sort()).toEqual(["colleague", "lead", "therapist"].flatMap((id) => [id, id, id]));
    database().insert(symptomClearances).values({ id: "clear", childId: "child-1", familyId: familyOfChild("child-1"), reportId: "report", spokeTo: "mother", outcome: "hospital", clearedBy: "lead", clearedAt: NOW + 46 * MINUTE }).run();
    runUntil(200, 46);
    expect(told("symptom-urgent")).toHaveLength(9);
  });

  it("ends after seven repetitions, and after an outage sends the one that is due, not all that were missed", () => {
    addSymptom("report", "child-1", "today", NOW);
    runUntil(62, 61);
    expect(told("symptom-today")).toHaveLength(3);
    runUntil(600, 62);
    expect(told("symptom-today")).toHaveLength(3 * 4);
  });
});
