import { and, eq } from "drizzle-orm";
import sharp from "sharp";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { answers, drafts, verdicts } from "@/db/schema/answers";
import { auditEntries, notices } from "@/db/schema/machinery";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { TAKE_BACK_MS } from "@/lib/domain/answering/publication";
import { photoPoint } from "@/lib/domain/marks/geometry";
import { amendAnswer, answerAsDraft } from "@/lib/records/amendments";
import type { AnswerInput } from "@/lib/records/answer-content";
import { historyOf } from "@/lib/records/answers-read";
import { answerTimes } from "@/lib/records/answer-times";
import { draftOf, keepRefused, saveDraft } from "@/lib/records/drafts";
import { versionsOf } from "@/lib/records/given-answers";
import { pictureOf } from "@/lib/records/media";
import { answerReadBack, openReadBacks } from "@/lib/records/read-backs";
import { standingOf } from "@/lib/records/standing";
import { takeBackAnswer } from "@/lib/records/take-back";
import { voidPhotoSet } from "@/lib/records/voiding";
import { addPicture, addSet, answer, answeringWorld, decide, EXERCISE, HOUR, NOW, send, verdictsOf } from "@/tests/records/answering-scene";
import { codeOf, done } from "@/tests/records/desk-scene";

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => {
  world = answeringWorld();
});
afterEach(() => world.close());

const LATER = NOW + HOUR;
const amend = async (photoSetId: string, basedOn: string, change: Partial<AnswerInput> = {}, now = LATER, who: Actor = world.colleague, reason = "Looked at again.") =>
  amendAnswer(await grant(who, "answer.write", "child-1"), answer(photoSetId, change), { basedOn, reason }, now);
const stand = async (now: number) => standingOf(await grant(world.mother, "child.read", "child-1"), EXERCISE, now);
const state = async (now: number) => (await stand(now)).current.goAhead.state;
const history = async (now: number) => historyOf(await grant(world.mother, "child.read", "child-1"), EXERCISE, now);
const asked = async (who: Actor, now: number) => (await openReadBacks(await grant(who, "read-back.answer", "child-1"), now)).asked;
const fix = (...keys: readonly string[]) => verdictsOf("in-place", Object.fromEntries(keys.map((key) => [key, "fix" as const])));

describe("an amendment", () => {
  it("is a version of its own by a colleague, with its reason; both are read, the newer counts", async () => {
    addSet("set");
    const { answerId } = done(await send(world.therapist, "set", { verdicts: fix("elbow-high") }));
    const second = done(await amend("set", answerId, { summary: "Left side, elbow is fine." }));
    expect(second.publishedAt).toBe(LATER + TAKE_BACK_MS);
    // Until it is out, the family goes by the first.
    expect(await history(LATER)).toMatchObject([{ answer: { answerId, version: 1 }, earlier: [] }]);
    expect(await state(LATER)).toBe("go-and-fix");
    const out = LATER + TAKE_BACK_MS;
    expect(await history(out)).toMatchObject([{
      answer: { answerId: second.answerId, version: 2, amendReason: "Looked at again.", answeredBy: "colleague" }, earlier: [{ answerId, version: 1, answeredBy: "therapist" }],
    }]);
    expect(await state(out)).toBe("go");
    expect((await stand(out)).ledger.find((row) => row.itemKey === "elbow-high")?.entries).toMatchObject([{ verdict: "in-place", by: "colleague" }]);
    const told = database().select({ at: notices.nextTryAt }).from(notices).where(and(eq(notices.kind, "answer"), eq(notices.personId, "mother"))).all();
    expect(told.map((row) => row.at).sort()).toEqual([NOW + TAKE_BACK_MS, out]);
    expect(database().select().from(auditEntries).where(eq(auditEntries.act, "answer.amended")).all()).toHaveLength(1);
    // The clock stopped at the first answer.
    const times = await answerTimes(await grant(world.lead, "times.read", null), "week", out);
    expect(times.within).toMatchObject({ count: 1, of: 1 });
    expect(times.curve.steps.map((step) => step.time)).toEqual([HOUR]);
  });

  it("keeps when and by whom what it repeats was judged", async () => {
    addSet("set");
    const { answerId } = done(await send(world.therapist, "set", { verdicts: fix("elbow-high") }));
    const second = done(await amend("set", answerId, { verdicts: fix("elbow-high", "head-neck") }));
    const of = (key: string) => database().select({ by: verdicts.judgedBy, at: verdicts.judgedAt }).from(verdicts)
      .where(and(eq(verdicts.answerId, second.answerId), eq(verdicts.itemKey, key))).get();
    expect(of("elbow-high")).toEqual({ by: "therapist", at: NOW });
    expect(of("head-neck")).toEqual({ by: "colleague", at: LATER });
  });

  it("does not outrank a newer photo: other words on an old answer change nothing about today", async () => {
    addSet("monday", { check: "cannot-tell" });
    const { answerId } = done(await send(world.therapist, "monday", { verdicts: fix("side-down", "elbow-high") }));
    addSet("tuesday", { sentAt: NOW + HOUR, takenAt: NOW + HOUR });
    done(await send(world.therapist, "tuesday", {}, NOW + 2 * HOUR));
    expect(await state(NOW + 3 * HOUR)).toBe("go");
    done(await amend("monday", answerId, { verdicts: fix("side-down", "elbow-high"), summary: "Turn to the left side. Better words." }, NOW + 4 * HOUR));
    expect(await state(NOW + 5 * HOUR)).toBe("go");
  });

  it("that brings a stop holds at once, even over a newer photo, and asks everybody again", async () => {
    addSet("monday", { check: "cannot-tell" });
    const { answerId } = done(await send(world.therapist, "monday"));
    addSet("tuesday", { sentAt: NOW + HOUR, takenAt: NOW + HOUR });
    done(await send(world.therapist, "tuesday", {}, NOW + 2 * HOUR));
    const stop = done(await amend("monday", answerId, { verdicts: fix("side-down") }, NOW + 3 * HOUR));
    expect(stop.publishedAt).toBe(NOW + 3 * HOUR);
    expect(await state(NOW + 3 * HOUR)).toBe("stop");
    for (const who of [world.mother, world.father]) expect(await asked(who, NOW + 3 * HOUR)).toMatchObject([{ stopKind: "answer", stopId: stop.answerId }]);
    // Only a photo taken after that ends it.
    addSet("wednesday", { sentAt: NOW + 4 * HOUR, takenAt: NOW + 4 * HOUR });
    done(await send(world.therapist, "wednesday", {}, NOW + 5 * HOUR));
    expect(await state(NOW + 6 * HOUR)).toBe("go");
  });

  it("to a stop that was read back asks again; one that takes the stop away asks nothing, and the rest follows", async () => {
    addSet("set", { check: "cannot-tell" });
    const { answerId } = done(await send(world.therapist, "set", { verdicts: fix("side-down") }));
    const [first] = await asked(world.mother, NOW);
    if (!first) throw new Error("the stop asks");
    done(await answerReadBack(await grant(world.mother, "read-back.answer", "child-1"), { ...first, choice: "left" }, NOW + 1));
    expect(await asked(world.mother, NOW + 2)).toEqual([]);
    const second = done(await amend("set", answerId, { verdicts: fix("side-down", "elbow-high") }));
    expect(await asked(world.mother, LATER)).toMatchObject([{ stopId: second.answerId }]);
    const third = done(await amend("set", second.answerId, {}, LATER + 1));
    expect(await state(LATER + 2)).toBe("stop");
    expect(await state(third.publishedAt)).toBe("go");
    expect(await asked(world.mother, third.publishedAt)).toEqual([]);
  });

  it("can be taken back by its author, and the version before stands as it did", async () => {
    addSet("set");
    const { answerId } = done(await send(world.therapist, "set", { verdicts: fix("elbow-high") }));
    const second = done(await amend("set", answerId));
    done(await takeBackAnswer(await grant(world.colleague, "answer.write", "child-1"), second.answerId, LATER + 1));
    expect(await history(LATER + HOUR)).toMatchObject([{ answer: { answerId }, earlier: [] }]);
    expect(await state(LATER + HOUR)).toBe("go-and-fix");
    expect(codeOf(await amend("set", answerId, {}, LATER + 2))).toBe("done");
    expect(database().select({ version: answers.version }).from(answers).all().map((row) => row.version).sort()).toEqual([1, 2, 2]);
  });

  it("shows its own marks alone", async () => {
    addSet("set");
    for (const id of ["set-photo-1", "set-photo-2"]) await addPicture("child-1", id, await sharp({ create: { width: 64, height: 48, channels: 3, background: "#808080" } }).jpeg().toBuffer());
    const on = (photoId: string) => [{ photoId, marks: [{ id: "r", kind: "ring" as const, itemKey: null, center: photoPoint(0.5, 0.5), radiusX: 0.2, radiusY: 0.2 }] }];
    const { answerId } = done(await send(world.therapist, "set", { marks: on("set-photo-1") }));
    done(await amend("set", answerId, { marks: on("set-photo-2") }));
    const view = await grant(world.mother, "photo.view", "child-1");
    const seen = async (now: number) => Promise.all(["set-photo-1", "set-photo-2"].map(async (id) => (await pictureOf(view, id, "marked", now)) !== null));
    expect(await seen(LATER)).toEqual([true, false]);
    expect(await seen(LATER + TAKE_BACK_MS)).toEqual([false, true]);
    expect((await history(LATER + TAKE_BACK_MS))[0]?.pictures.map((each) => each.isMarked)).toEqual([false, true, false]);
  });

  it("is refused without a reason, with a wrong side in it, too soon, on a void set, without consent, without an answer", async () => {
    addSet("set");
    addSet("open");
    const { answerId } = done(await send(world.therapist, "set"));
    expect(codeOf(await amend("set", answerId, {}, NOW + 1))).toBe("amend-too-soon");
    expect(codeOf(await amend("set", answerId, {}, LATER, world.colleague, " "))).toBe("reason-missing");
    expect(codeOf(await amend("set", answerId, {}, LATER, world.colleague, "Lie on the right side first."))).toBe("words-side-disagree");
    expect(codeOf(await amend("open", answerId))).toBe("form-invalid");
    expect(codeOf(await amend("set", "of-nobody"))).toBe("amended-already");
    decide("child-1", "family-a", "withdrawn", 2);
    expect(codeOf(await amend("set", answerId))).toBe("consent-withdrawn");
    decide("child-1", "family-a", "given", 3);
    done(await voidPhotoSet(await grant(world.therapist, "answer.write", "child-1"), "set", LATER));
    expect(codeOf(await amend("set", answerId))).toBe("set-voided");
    expect(database().select().from(answers).all()).toHaveLength(1);
  });

  it("opens with what was answered, as the form would hold it", async () => {
    addSet("set");
    const cue = verdictsOf("in-place", { "elbow-high": "fix" }).map((each) => (each.itemKey === "elbow-high" ? { ...each, cue: "Lift the elbow. Higher.", cueId: "lift" } : each));
    const { answerId } = done(await send(world.therapist, "set", { verdicts: cue, nextStep: "new-photo", nextView: "front" }));
    const mine = await grant(world.colleague, "answer.write", "child-1");
    expect(await answerAsDraft(mine, answerId)).toMatchObject({
      "verdict.side-down": "in-place", "verdict.elbow-high": "fix", "cue.elbow-high": "lift", "words.elbow-high": "Lift the elbow. Higher.", summary: "Lie on the left side, as you do now.", nextStep: "new-photo", nextView: "front",
    });
    expect(await answerAsDraft(await grant(world.colleague, "answer.write", "child-2"), answerId)).toBeNull();
    expect((await versionsOf(mine, "set", NOW)).map((each) => each.version)).toEqual([1]);
  });
});

describe("two amendments at once", () => {
  it("one lands, the other keeps its draft and builds on the first", async () => {
    addSet("set");
    const { answerId } = done(await send(world.therapist, "set"));
    const both = await Promise.all([amend("set", answerId, { summary: "Left: one." }, LATER, world.therapist), amend("set", answerId, { summary: "Left: two." })]);
    expect(both.map(codeOf)).toEqual(["done", "amended-already"]);
    const theirs = await grant(world.colleague, "answer.write", "child-1");
    expect(await keepRefused(theirs, "set", { summary: "Left: two." }, LATER)).toBe(true);
    expect((await draftOf(theirs, "set"))?.fields).toEqual({ summary: "Left: two." });
    const newest = both[0] && done(both[0]);
    expect(codeOf(await amend("set", newest?.answerId ?? "", { summary: "Left: two." }, LATER + TAKE_BACK_MS))).toBe("done");
  });

  it("nobody's other window writes over what can still be taken back", async () => {
    addSet("set");
    const mine = await grant(world.therapist, "answer.write", "child-1");
    done(await saveDraft(mine, "set", { fields: { summary: "one" }, version: 0 }, NOW - 1));
    done(await send(world.therapist, "set"));
    expect(codeOf(await saveDraft(mine, "set", { fields: { summary: "late" }, version: 1 }, NOW + 1))).toBe("answered-already");
    expect(await keepRefused(mine, "set", { summary: "late" }, NOW + 1)).toBe(false);
    // Once it is out, a new draft is an amendment's.
    expect(done(await saveDraft(mine, "set", { fields: { summary: "new" }, version: 0 }, LATER)).version).toBe(1);
    expect(database().select().from(drafts).all()).toHaveLength(1);
  });
});
