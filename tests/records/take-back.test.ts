import { eq } from "drizzle-orm";
import sharp from "sharp";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { answers, drafts } from "@/db/schema/answers";
import { notices } from "@/db/schema/machinery";
import { grant } from "@/lib/access/grant";
import { TAKE_BACK_MS } from "@/lib/domain/answering/publication";
import { photoPoint } from "@/lib/domain/marks/geometry";
import { deliverNotices } from "@/lib/notices/outbox";
import { askForNewPhoto, sendAnswer } from "@/lib/records/answers";
import { historyOf } from "@/lib/records/answers-read";
import { answerTimes } from "@/lib/records/answer-times";
import { draftOf, saveDraft } from "@/lib/records/drafts";
import { pictureOf } from "@/lib/records/media";
import { newestAnswer } from "@/lib/records/newest-answer";
import { queueOf } from "@/lib/records/queue";
import { openReadBacks } from "@/lib/records/read-backs";
import { forgetSentDrafts } from "@/lib/records/sent-drafts";
import { standingOf } from "@/lib/records/standing";
import { pendingAnswers, takeBackAnswer } from "@/lib/records/take-back";
import { voidPhotoSet } from "@/lib/records/voiding";
import { addPicture, addSet, answer, answeringWorld, EXERCISE, NOW, send, verdictsOf } from "@/tests/records/answering-scene";
import { codeOf, done, refused } from "@/tests/records/desk-scene";

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => {
  world = answeringWorld();
});
afterEach(() => world.close());

const OUT = NOW + TAKE_BACK_MS;
const takeBack = async (answerId: string, now: number, who = world.therapist, childId = "child-1") =>
  takeBackAnswer(await grant(who, "answer.write", childId), answerId, now);
const history = async (now: number) => historyOf(await grant(world.mother, "child.read", "child-1"), EXERCISE, now);
const state = async (now: number) => (await standingOf(await grant(world.mother, "child.read", "child-1"), EXERCISE, now)).current.goAhead.state;
const waiting = async (now: number) => (await queueOf(await grant(world.therapist, "queue.read", null), now)).rows.map((row) => row.id);

describe("before an answer is out", () => {
  const fix = verdictsOf("in-place", { "elbow-high": "fix" });

  it("the family sees nothing of it: no verdict, no word, no mark, no mail", async () => {
    addSet("set");
    await addPicture("child-1", "set-photo-1", await sharp({ create: { width: 64, height: 48, channels: 3, background: "#808080" } }).jpeg().toBuffer());
    const marks = [{ photoId: "set-photo-1", marks: [{ id: "r", kind: "ring" as const, itemKey: "elbow-high", center: photoPoint(0.5, 0.5), radiusX: 0.2, radiusY: 0.2 }] }];
    done(await send(world.therapist, "set", { verdicts: fix, marks }));
    const view = await grant(world.mother, "photo.view", "child-1");
    const read = await grant(world.mother, "child.read", "child-1");
    for (const now of [NOW, OUT - 1]) {
      expect(await history(now)).toMatchObject([{ answer: null, earlier: [], pictures: [{ isMarked: false }, {}, {}] }]);
      expect(await state(now)).toBe("photo-first");
      expect((await standingOf(read, EXERCISE, now)).ledger.flatMap((row) => row.entries)).toEqual([]);
      expect(await pictureOf(view, "set-photo-1", "marked", now)).toBeNull();
      expect((await newestAnswer(read, EXERCISE, ["elbow-high"], now)).picture).toBeNull();
      expect(await deliverNotices(database(), now, async () => {})).toEqual({ sent: 0, failed: 0, gaveUp: 0 });
    }
    expect(await history(OUT)).toMatchObject([{ answer: { version: 1 }, pictures: [{ isMarked: true }, {}, {}] }]);
    expect(await state(OUT)).toBe("go-and-fix");
    expect(await pictureOf(view, "set-photo-1", "marked", OUT)).not.toBeNull();
    expect((await newestAnswer(read, EXERCISE, ["elbow-high"], OUT)).picture).toMatchObject({ photoId: "set-photo-1" });
    expect(await deliverNotices(database(), OUT, async () => {})).toMatchObject({ sent: 2 });
  });

  it("it is answered for the practice: off the queue, and the clock stands at its sending", async () => {
    addSet("set");
    done(await send(world.therapist, "set"));
    expect(await waiting(NOW + 1)).toEqual([]);
    expect((await answerTimes(await grant(world.lead, "times.read", null), "week", NOW + 1)).waiting).toBe(0);
    expect(await pendingAnswers(await grant(world.colleague, "queue.read", null), NOW + 1)).toMatchObject([{ photoSetId: "set", publishedAt: OUT, isMine: false }]);
    expect(await pendingAnswers(await grant(world.therapist, "queue.read", null), OUT)).toEqual([]);
    expect(codeOf(await send(world.colleague, "set", {}, NOW + 2))).toBe("answered-already");
  });

  it("a stop waits for nobody", async () => {
    addSet("set", { check: "cannot-tell" });
    const { answerId, publishedAt } = done(await send(world.therapist, "set", { verdicts: verdictsOf("in-place", { "side-down": "fix" }) }));
    expect(publishedAt).toBe(NOW);
    expect(await state(NOW)).toBe("stop");
    expect((await openReadBacks(await grant(world.mother, "read-back.answer", "child-1"), NOW)).asked).toHaveLength(1);
    expect(codeOf(await takeBack(answerId, NOW))).toBe("taken-back-late");
  });
});

describe("taking an answer back", () => {
  it("opens the set again, gives the draft back as it was sent, and its mail never leaves", async () => {
    addSet("set");
    const mine = await grant(world.therapist, "answer.write", "child-1");
    done(await saveDraft(mine, "set", { fields: { summary: "half" }, version: 0 }, NOW - 5));
    const { answerId } = done(await sendAnswer(mine, answer("set"), NOW, { summary: "whole", "verdict.side-down": "in-place" }));
    expect(await draftOf(mine, "set")).toBeNull();
    expect(done(await takeBack(answerId, OUT - 1))).toEqual({ photoSetId: "set" });
    expect(await draftOf(mine, "set")).toEqual({ fields: { summary: "whole", "verdict.side-down": "in-place" }, version: 2, savedAt: NOW });
    expect(await waiting(OUT)).toEqual(["set"]);
    expect(await state(OUT)).toBe("photo-first");
    expect(await history(OUT)).toMatchObject([{ answer: null, earlier: [] }]);
    expect(await deliverNotices(database(), OUT + 1, async () => {})).toEqual({ sent: 0, failed: 0, gaveUp: 0 });
    expect((await answerTimes(await grant(world.lead, "times.read", null), "week", OUT)).waiting).toBe(1);
    // Sent once more, it is a first version again.
    done(await send(world.therapist, "set", {}, OUT));
    expect(database().select({ version: answers.version, back: answers.takenBackAt }).from(answers).orderBy(answers.answeredAt).all())
      .toEqual([{ version: 1, back: OUT - 1 }, { version: 1, back: null }]);
    expect(await deliverNotices(database(), OUT + TAKE_BACK_MS, async () => {})).toMatchObject({ sent: 2 });
  });

  it("keeps what was sent without a draft before it", async () => {
    addSet("set");
    const mine = await grant(world.therapist, "answer.write", "child-1");
    const { answerId } = done(await sendAnswer(mine, answer("set"), NOW, { summary: "typed without scripts" }));
    done(await takeBack(answerId, NOW + 1));
    expect((await draftOf(mine, "set"))?.fields).toEqual({ summary: "typed without scripts" });
  });

  it("is its author's alone, once, in time, and of this child", async () => {
    addSet("set");
    const { answerId } = done(await send(world.therapist, "set"));
    expect(codeOf(await takeBack(answerId, NOW + 1, world.colleague))).toBe("taken-back-late");
    expect(codeOf(await takeBack(answerId, NOW + 1, world.therapist, "child-2"))).toBe("taken-back-late");
    expect(await refused(grant(world.mother, "answer.write", "child-1"))).toContain("404");
    expect(codeOf(await takeBack(answerId, OUT))).toBe("taken-back-late");
    expect(codeOf(await takeBack(answerId, OUT - 1))).toBe("done");
    expect(codeOf(await takeBack(answerId, OUT - 1))).toBe("taken-back-late");
  });

  it("takes back what asked for a new photo, and nothing of a voided set", async () => {
    addSet("again");
    const mine = await grant(world.therapist, "answer.write", "child-1");
    const asked = done(await askForNewPhoto(mine, { photoSetId: "again", reason: "Too dark to see.", nextView: null, sideReason: "", wordsConfirmed: false }, NOW));
    expect(asked.publishedAt).toBe(OUT);
    done(await takeBack(asked.answerId, NOW + 1));
    expect(await waiting(NOW + 2)).toEqual(["again"]);
    const { answerId } = done(await send(world.therapist, "again", {}, NOW + 2));
    done(await voidPhotoSet(mine, "again", NOW + 3));
    expect(codeOf(await takeBack(answerId, NOW + 4))).toBe("taken-back-late");
  });
});

describe("a sent draft", () => {
  it("is forgotten once its answer is out, and no other draft with it", async () => {
    addSet("set");
    addSet("open");
    const mine = await grant(world.therapist, "answer.write", "child-1");
    const theirs = await grant(world.colleague, "answer.write", "child-1");
    for (const each of [mine, theirs]) done(await saveDraft(each, "set", { fields: { summary: each.actor.personId }, version: 0 }, NOW));
    done(await saveDraft(mine, "open", { fields: { summary: "open" }, version: 0 }, NOW));
    done(await send(world.therapist, "set"));
    expect(forgetSentDrafts(database(), OUT - 1)).toBe(0);
    expect(forgetSentDrafts(database(), OUT)).toBe(1);
    expect((await draftOf(theirs, "set"))?.fields).toEqual({ summary: "colleague" });
    expect((await draftOf(mine, "open"))?.fields).toEqual({ summary: "open" });
    expect(database().select().from(drafts).where(eq(drafts.personId, "therapist")).all()).toHaveLength(1);
    expect(database().select().from(notices).where(eq(notices.kind, "answer")).all()).toHaveLength(2);
  });
});
