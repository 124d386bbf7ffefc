import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { like } from "drizzle-orm";
import { database } from "@/db/client";
import { notices } from "@/db/schema/machinery";
import { photoSets, symptomClearances } from "@/db/schema/photos";
import { grant } from "@/lib/access/grant";
import { answerTherapist, askFamily, remindOfQuestion, withdrawFromFamily } from "@/lib/records/back-questions";
import { queueOf } from "@/lib/records/queue";
import { remindOfPhotos, remindOfQuestions, repeatAlarms } from "@/lib/records/reminders";
import { addSet, addSymptom, answeringWorld, decide, familyOfChild, HOUR, NOW, send, verdictsOf } from "@/tests/records/answering-scene";
import { codeOf, done } from "@/tests/records/desk-scene";

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
  const runUntil = async (days: number, from = 0) => {
    for (let at = NOW + from * DAY; at <= NOW + days * DAY; at += DAY / 24) await remindOfPhotos(database(), at);
  };

  it("come twice to each carer of that child and to nobody else, however often it is looked", async () => {
    await ask();
    await runUntil(3.9);
    expect(reminded()).toEqual([]);
    await runUntil(5, 4);
    expect(reminded()).toEqual(["father", "mother"]);
    await runUntil(5, 4);
    expect(reminded()).toEqual(["father", "mother"]);
    await runUntil(60, 5);
    expect(reminded()).toEqual(["father", "father", "mother", "mother"]);
  });

  it("stop once a set of that exercise is sent, though not by one sent for the wrong child", async () => {
    await ask();
    addSet("set-2", { sentAt: NOW + DAY });
    await runUntil(20);
    expect(reminded()).toEqual([]);
    database().update(photoSets).set({ voidedAt: NOW + 2 * DAY, voidedBy: "lead", voidReason: "wrong-child" }).run();
    database().update(photoSets).set({ voidedAt: null, voidedBy: null, voidReason: null }).where(like(photoSets.id, "set-1")).run();
    await runUntil(5);
    expect(reminded()).toEqual(["father", "mother"]);
  });

  it("do not come when consent is withdrawn, a symptom stop is open, or the answer itself is a stop", async () => {
    await ask();
    decide("child-1", "family-a", "withdrawn", 2);
    await runUntil(5);
    expect(reminded()).toEqual([]);
    decide("child-1", "family-a", "given", 3);
    addSymptom("report", "child-1", "today", NOW + 4 * DAY);
    await runUntil(5);
    expect(reminded()).toEqual([]);
    database().insert(symptomClearances).values({ id: "clear", childId: "child-1", familyId: "family-a", reportId: "report", spokeTo: "mother", outcome: "well", clearedBy: "lead", clearedAt: NOW + 5 * DAY }).run();
    await runUntil(6, 5);
    expect(reminded()).toEqual(["father", "mother"]);
    addSet("set-3", { childId: "child-3" });
    expect((await send(world.therapist, "set-3", { nextStep: "new-photo", nextView: "behind", verdicts: verdictsOf("in-place", { "prop-low-back": "fix" }) }, NOW, "child-3")).ok).toBe(true);
    await runUntil(12);
    expect(reminded()).not.toContain("stranger");
    // The stop itself went out as one that nobody can switch off.
    expect(told("answer-stop").map(({ personId }) => personId)).toEqual(["stranger"]);
  });

  it("do not come for an answer that asked for nothing", async () => {
    addSet("set-1");
    await send(world.therapist, "set-1");
    await runUntil(20);
    expect(reminded()).toEqual([]);
  });
});

describe("reminders of a question to the family", () => {
  let question: string;
  beforeEach(async () => {
    addSet("set-1");
    question = done(await askFamily(await grant(world.therapist, "back-question.ask", "child-1"), { photoSetId: "set-1", words: "Is there a second bag?", sideReason: "", wordsConfirmed: false }, NOW)).backQuestionId;
  });
  const runUntil = async (days: number, from = 0) => {
    for (let at = NOW + from * DAY; at <= NOW + days * DAY; at += DAY / 24) {
      remindOfQuestions(database(), at);
      await remindOfPhotos(database(), at);
    }
  };
  const asked = () => told("question-reminder").map(({ personId }) => personId).sort();
  const press = async (at: number) => remindOfQuestion(await grant(world.therapist, "back-question.ask", "child-1"), question, at);

  it("come to each carer on the second, the fourth and the sixth day, and never more often", async () => {
    await runUntil(1.9);
    expect(asked()).toEqual([]);
    await runUntil(3.9, 1.9);
    await runUntil(3.9, 1.9);
    expect(asked()).toEqual(["father", "mother"]);
    await runUntil(60, 3.9);
    expect(asked()).toEqual(["father", "father", "father", "mother", "mother", "mother"]);
  });

  it("end with the family's words, a withdrawal, an answer sent all the same, and without consent", async () => {
    done(await answerTherapist(await grant(world.mother, "back-question.reply", "child-1"), { backQuestionId: question, words: "Yes, two." }, NOW + DAY));
    await runUntil(20);
    expect(codeOf(await press(NOW + 2 * DAY))).toBe("stale-version");
    const again = async (at: number) => {
      question = done(await askFamily(await grant(world.therapist, "back-question.ask", "child-1"), { photoSetId: "set-1", words: "And the other?", sideReason: "", wordsConfirmed: false }, at)).backQuestionId;
    };
    await again(NOW + 20 * DAY);
    done(await withdrawFromFamily(await grant(world.therapist, "back-question.ask", "child-1"), question, NOW + 21 * DAY));
    await runUntil(40, 20);
    await again(NOW + 40 * DAY);
    decide("child-1", "family-a", "withdrawn", 2);
    await runUntil(60, 40);
    expect(codeOf(await press(NOW + 42 * DAY))).toBe("stale-version");
    decide("child-1", "family-a", "given", 3);
    expect((await send(world.therapist, "set-1", {}, NOW + 41 * DAY)).ok).toBe(true);
    await runUntil(60, 40);
    expect(asked()).toEqual([]);
  });

  it("come under a stop too: the answer that waits for these words may lift it", async () => {
    addSymptom("report", "child-1", "today", NOW);
    await runUntil(3);
    expect(asked()).toEqual(["father", "mother"]);
  });

  it("are one a day and person in all, whatever they are of and whoever presses", async () => {
    const row = async (at: number) => (await queueOf(await grant(world.lead, "queue.read", null), at)).onFamily[0];
    expect(await row(NOW + HOUR)).toMatchObject({ openQuestionId: question, isReminded: false });
    done(await press(NOW + HOUR));
    expect(codeOf(await press(NOW + 2 * HOUR))).toBe("family-reminded-today");
    expect(await row(NOW + 2 * HOUR)).toMatchObject({ isReminded: true });
    // By hand on the second day: the one that was due by itself comes on the third.
    done(await press(NOW + 2 * DAY - HOUR));
    await runUntil(2.5);
    expect(told("question-reminder")).toHaveLength(4);
    await runUntil(3, 2.5);
    expect(told("question-reminder").map(({ at }) => Math.floor((at - NOW) / DAY))).toEqual([0, 0, 1, 1, 2, 2]);
    await expect(grant(world.mother, "back-question.ask", "child-1")).rejects.toThrow();
  });

  it("hold back the reminder of a photo to the next day", async () => {
    addSet("set-2");
    expect((await send(world.therapist, "set-2", { nextStep: "new-photo", nextView: "front" }, NOW)).ok).toBe(true);
    await runUntil(7);
    const days = (kind: string) => [...new Set(told(kind).map(({ at }) => new Date(at).toISOString().slice(0, 10)))];
    expect(days("question-reminder")).toEqual(["2026-03-06", "2026-03-08", "2026-03-10"]);
    expect(days("photo-reminder")).toEqual(["2026-03-09"]);
  });
});

describe("the alarm about a symptom", () => {
  const runUntil = (minutes: number, from = 0) => {
    for (let at = NOW + from * MINUTE; at <= NOW + minutes * MINUTE; at += MINUTE) {
      repeatAlarms(database(), at);
      repeatAlarms(database(), at);
    }
  };

  it("goes to each member of staff again every quarter of an hour until somebody spoke with the family", async () => {
    addSymptom("report", "child-1", "urgent", NOW);
    await runUntil(14);
    expect(told("symptom-urgent")).toEqual([]);
    await runUntil(45, 15);
    expect(told("symptom-urgent").map(({ personId }) => personId).sort()).toEqual(["colleague", "lead", "therapist"].flatMap((id) => [id, id, id]));
    database().insert(symptomClearances).values({ id: "clear", childId: "child-1", familyId: familyOfChild("child-1"), reportId: "report", spokeTo: "mother", outcome: "hospital", clearedBy: "lead", clearedAt: NOW + 46 * MINUTE }).run();
    await runUntil(200, 46);
    expect(told("symptom-urgent")).toHaveLength(9);
  });

  it("ends after seven repetitions, and after an outage sends the one that is due, not all that were missed", async () => {
    addSymptom("report", "child-1", "today", NOW);
    await runUntil(62, 61);
    expect(told("symptom-today")).toHaveLength(3);
    await runUntil(600, 62);
    expect(told("symptom-today")).toHaveLength(3 * 4);
  });
});
