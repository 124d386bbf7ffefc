import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { claims, drafts } from "@/db/schema/answers";
import { careLinks } from "@/db/schema/care";
import { auditEntries, notices } from "@/db/schema/machinery";
import { photoSets } from "@/db/schema/photos";
import { backQuestions } from "@/db/schema/questions";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { TAKE_BACK_MS } from "@/lib/domain/answering/publication";
import { answerTimes, timedSets } from "@/lib/records/answer-times";
import { deskOf } from "@/lib/records/answering";
import { entryOf } from "@/lib/records/answers-read";
import { openBackQuestions } from "@/lib/records/back-question-reads";
import { answerTherapist, askFamily, withdrawFromFamily } from "@/lib/records/back-questions";
import { claimSet } from "@/lib/records/claims";
import { saveDraft } from "@/lib/records/drafts";
import { sentByChild } from "@/lib/records/families";
import { queueOf } from "@/lib/records/queue";
import { takeBackAnswer } from "@/lib/records/take-back";
import { voidPhotoSet } from "@/lib/records/voiding";
import { addSet, answeringWorld, decide, HOUR, NOW, send } from "@/tests/records/answering-scene";
import { codeOf, done } from "@/tests/records/desk-scene";
import { allOf } from "@/tests/records/in-lots";

// Wednesday 10:00, open 09:00 to 17:00, 8 working hours promised; the set was sent at 09:00. Figures worked by hand.
const DAY = 24 * HOUR;

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => {
  world = answeringWorld();
  addSet("set");
});
afterEach(() => world.close());

const ask = async (words = "Is there a second bag under her?", change: { readonly who?: Actor; readonly set?: string; readonly childId?: string; readonly sideReason?: string; readonly wordsConfirmed?: boolean } = {}, now = NOW) => {
  const { who = world.therapist, set = "set", childId = "child-1", sideReason = "", wordsConfirmed = false } = change;
  return askFamily(await grant(who, "back-question.ask", childId), { photoSetId: set, words, sideReason, wordsConfirmed }, now);
};
const asked = async (now = NOW) => done(await ask(undefined, {}, now)).backQuestionId;
const reply = async (backQuestionId: string, words = "Yes, two bags.", who: Actor = world.mother, now = NOW + HOUR, childId = "child-1") =>
  answerTherapist(await grant(who, "back-question.reply", childId), { backQuestionId, words }, now);
const withdraw = async (backQuestionId: string, who: Actor = world.therapist, now = NOW + HOUR) => withdrawFromFamily(await grant(who, "back-question.ask", "child-1"), backQuestionId, now);
const queue = async (now: number) => queueOf(await grant(world.lead, "queue.read", null), now);
const forFamily = async (who: Actor, now = NOW + HOUR) => openBackQuestions(await grant(who, "child.read", "child-1"), now);
const times = async (now: number) => answerTimes(await grant(world.lead, "times.read", null), "week", now);

describe("a question to the family about a photo set", () => {
  it("is read by every carer until one of them answers, and its words then stand on the desk and in history", async () => {
    const id = await asked();
    for (const who of [world.mother, world.father]) {
      expect(await forFamily(who)).toEqual([{ photoSetId: "set", sentAt: NOW - HOUR, words: "Is there a second bag under her?", askedBy: "therapist", askedAt: NOW }]);
    }
    done(await reply(id, "  Yes, two bags. "));
    expect(await forFamily(world.father)).toEqual([]);
    const said = [{ backQuestionId: id, reply: "Yes, two bags.", repliedBy: "mother", repliedAt: NOW + HOUR, withdrawnAt: null }];
    expect((await deskOf(await grant(world.colleague, "answer.write", "child-1"), "set", NOW + HOUR))?.asked).toMatchObject(said);
    expect((await entryOf(await grant(world.father, "child.read", "child-1"), "set", NOW + HOUR))?.asked).toMatchObject(said);
  });

  it("is one at a time: of two therapists the second is refused, and may ask once the first was answered", async () => {
    const id = await asked();
    expect(codeOf(await ask("Which mat is that?", { who: world.colleague }))).toBe("back-question-open");
    expect(database().select().from(backQuestions).all()).toHaveLength(1);
    done(await reply(id));
    done(await ask("Which mat is that?", { who: world.colleague }, NOW + 2 * HOUR));
  });

  it("is asked and answered once under one key, and told to nobody in words", async () => {
    const granted = { ...(await grant(world.therapist, "back-question.ask", "child-1")), once: "00000000-0000-4000-8000-000000000001" };
    const input = { photoSetId: "set", words: "Is the knee bent?", sideReason: "", wordsConfirmed: false };
    const first = await askFamily(granted, input, NOW);
    expect(await askFamily(granted, input, NOW + 5)).toEqual(first);
    const id = done(first).backQuestionId;
    const replying = { ...(await grant(world.mother, "back-question.reply", "child-1")), once: "00000000-0000-4000-8000-000000000002" };
    done(await answerTherapist(replying, { backQuestionId: id, words: "The knee is bent." }, NOW + HOUR));
    done(await answerTherapist(replying, { backQuestionId: id, words: "The knee is bent." }, NOW + 2 * HOUR));
    expect(database().select().from(backQuestions).all()).toMatchObject([{ reply: "The knee is bent.", repliedAt: NOW + HOUR }]);
    const told = (kind: string) => database().select({ personId: notices.personId }).from(notices).where(eq(notices.kind, kind)).all().map((each) => each.personId).sort();
    expect(told("reply")).toEqual(["father", "mother"]);
    expect(told("question-asked")).toEqual(["colleague", "lead", "therapist"]);
    const acts = database().select({ act: auditEntries.act }).from(auditEntries).all().map(({ act }) => act);
    expect(acts.filter((act) => act.startsWith("back-question"))).toEqual(["back-question.asked", "back-question.replied"]);
    expect(JSON.stringify([database().select().from(notices).all(), database().select().from(auditEntries).all()])).not.toMatch(/knee/);
  });

  it("is about an unanswered set of that child alone", async () => {
    expect(codeOf(await ask("Whose is it?", { childId: "child-2" }))).toBe("form-invalid");
    await expect(ask("Whose is it?", { who: world.outsider })).rejects.toThrow();
    await expect(ask("Whose is it?", { who: world.mother })).rejects.toThrow();
    const id = await asked();
    for (const who of [world.stranger, world.therapist]) await expect(reply(id, "Not mine.", who)).rejects.toThrow();
    await expect(reply(id, "Not the father's.", world.father, NOW, "child-2")).rejects.toThrow();
    expect(codeOf(await reply(id, "Under the sister.", world.mother, NOW, "child-2"))).toBe("form-invalid");
    await expect(withdraw(id, world.mother)).rejects.toThrow();
    expect(await openBackQuestions(await grant(world.stranger, "child.read", "child-3"), NOW)).toEqual([]);
    expect(database().select().from(backQuestions).all()).toMatchObject([{ reply: null, withdrawnAt: null }]);
  });

  it("is refused for a set that is answered, void, without consent, or that nobody could read about", async () => {
    addSet("answered");
    done(await send(world.therapist, "answered"));
    expect(codeOf(await ask("Too late?", { set: "answered" }))).toBe("answered-already");
    addSet("void");
    done(await voidPhotoSet(await grant(world.therapist, "answer.write", "child-1"), "void", NOW));
    expect(codeOf(await ask("Whose?", { set: "void" }))).toBe("set-voided");
    expect(codeOf(await ask("Which?", { set: "none" }))).toBe("form-invalid");
    decide("child-1", "family-a", "withdrawn", 2);
    expect(codeOf(await ask())).toBe("consent-withdrawn");
    decide("child-1", "family-a", "given", 3);
    database().update(careLinks).set({ endedAt: NOW }).where(eq(careLinks.childId, "child-1")).run();
    expect(codeOf(await ask())).toBe("back-question-nobody");
    expect(database().select().from(backQuestions).all()).toEqual([]);
  });

  it("has 3 to 1000 characters on both sides", async () => {
    for (const words of ["", " no ", "x".repeat(1001)]) expect(codeOf(await ask(words))).toBe("question-length");
    const id = await asked();
    for (const words of ["", " no ", "x".repeat(1001)]) expect(codeOf(await reply(id, words))).toBe("question-length");
  });

  it("names no side against the set-up, or says why", async () => {
    // Thoracic right, lumbar left: this child lies on the LEFT (PRODUCT, section 3).
    expect(codeOf(await ask("Does she lie on her right side here?"))).toBe("words-side-disagree");
    expect(codeOf(await ask("Does she lie on her right side here?", { wordsConfirmed: true }))).toBe("words-side-disagree");
    done(await ask("Does she lie on her right side here?", { wordsConfirmed: true, sideReason: "It looks mirrored to me." }));
    expect(database().select().from(backQuestions).get()).toMatchObject({ sideReason: "It looks mirrored to me." });
  });

  it("ends the asker's claim, not a colleague's, and keeps every draft", async () => {
    const mine = await grant(world.therapist, "answer.write", "child-1");
    done(await claimSet(mine, "set", false, NOW));
    done(await saveDraft(mine, "set", { fields: { summary: "Begun." }, version: 0 }, NOW));
    const id = await asked();
    expect(database().select().from(claims).all()).toEqual([]);
    expect(database().select({ sentAt: drafts.sentAt }).from(drafts).all()).toEqual([{ sentAt: null }]);
    done(await reply(id));
    done(await claimSet(await grant(world.colleague, "answer.write", "child-1"), "set", false, NOW + HOUR));
    await asked(NOW + HOUR);
    expect(database().select({ who: claims.personId }).from(claims).all()).toEqual([{ who: "colleague" }]);
  });
});

describe("the end of a question", () => {
  it("is the first carer's words; the second is refused and changes nothing", async () => {
    const id = await asked();
    done(await reply(id, "The first words."));
    expect(codeOf(await reply(id, "The second words.", world.father))).toBe("back-question-replied");
    expect(codeOf(await withdraw(id, world.colleague))).toBe("stale-version");
    expect(database().select().from(backQuestions).all()).toMatchObject([{ reply: "The first words.", repliedBy: "mother", withdrawnAt: null }]);
  });

  it("is a withdrawal by any therapist: no words come after it, and a notice that waits never leaves", async () => {
    const id = await asked();
    done(await withdraw(id, world.colleague));
    expect(codeOf(await withdraw(id))).toBe("stale-version");
    expect(codeOf(await reply(id, "Too late.", world.mother, NOW + 2 * HOUR))).toBe("back-question-closed");
    expect(await forFamily(world.mother)).toEqual([]);
    expect(database().select().from(notices).where(eq(notices.kind, "reply")).all().map((each) => each.gaveUpAt)).toEqual([NOW + HOUR, NOW + HOUR]);
    expect(database().select().from(backQuestions).all()).toMatchObject([{ withdrawnBy: "colleague", withdrawnAt: NOW + HOUR, repliedAt: null }]);
  });

  it("is an answer sent all the same, which the family learns when it is published and not before", async () => {
    const id = await asked();
    done(await send(world.colleague, "set", {}, NOW + HOUR));
    expect(await forFamily(world.mother, NOW + HOUR)).toHaveLength(1);
    expect(await forFamily(world.mother, NOW + HOUR + TAKE_BACK_MS)).toEqual([]);
    expect(codeOf(await reply(id, "Too late.", world.mother, NOW + HOUR + TAKE_BACK_MS))).toBe("back-question-closed");
  });

  it("comes not with an answer that was taken back: the family is still asked, and may answer", async () => {
    const id = await asked();
    const { answerId } = done(await send(world.therapist, "set", {}, NOW + HOUR));
    done(await takeBackAnswer(await grant(world.therapist, "answer.write", "child-1"), answerId, NOW + HOUR + 1));
    expect((await queue(NOW + 2 * HOUR)).onFamily.map((row) => row.id)).toEqual(["set"]);
    done(await reply(id, "Yes, two bags.", world.mother, NOW + 2 * HOUR));
  });

  it("is the voiding of its set", async () => {
    const id = await asked();
    done(await voidPhotoSet(await grant(world.therapist, "answer.write", "child-1"), "set", NOW + 1));
    expect(codeOf(await reply(id))).toBe("back-question-closed");
    expect([await forFamily(world.mother), (await queue(NOW + 2)).onFamily]).toEqual([[], []]);
  });
});

describe("the clock while the practice waits on the family", () => {
  it("stands still in the queue, which counts the set neither as waiting nor as overdue, and runs on with the family's words", async () => {
    addSet("other", { childId: "child-3", sentAt: NOW });
    const id = await asked();
    // A week later nothing of it is due.
    for (const now of [NOW + HOUR, NOW + 7 * DAY]) {
      const { rows, onFamily, oldestSentAt } = await queue(now);
      expect(rows.map((row) => row.id)).toEqual(["other"]);
      expect(oldestSentAt).toBe(NOW);
      expect(onFamily).toMatchObject([{ id: "set", dueAt: null, isOverdue: false, leftMs: 7 * HOUR, leftShare: 0.875, asked: [{ askedAt: NOW, reply: null }] }]);
    }
    expect(await queue(NOW + 7 * DAY)).toMatchObject({ overdue: 1, dueToday: 0 });
    expect(await sentByChild(await grant(world.lead, "families.read", null), ["child-1", "child-2", "child-3"])).toEqual(expect.arrayContaining([expect.objectContaining({ childId: "child-1", waiting: 0 }), expect.objectContaining({ childId: "child-3", waiting: 1 })]));
    // Answered on the Wednesday after at 10: seven hours are left, to 17.
    done(await reply(id, "Yes, two bags.", world.mother, NOW + 7 * DAY));
    const back = await queue(NOW + 7 * DAY + HOUR);
    expect(back.onFamily).toEqual([]);
    expect(back.rows.find((row) => row.id === "set")).toMatchObject({ dueAt: NOW + 7 * DAY + 7 * HOUR, leftMs: 6 * HOUR, isOverdue: false, asked: [{ reply: "Yes, two bags.", repliedBy: "mother" }] });
    expect(await sentByChild(await grant(world.lead, "families.read", null), ["child-1", "child-2", "child-3"])).toEqual(expect.arrayContaining([expect.objectContaining({ childId: "child-1", waiting: 1 })]));
  });

  it("stands still in the answer times, with and without an answer", async () => {
    const id = await asked();
    expect(await times(NOW + DAY)).toMatchObject({ waiting: 0, onFamily: 1, oldest: null, overdue: 0, dueToday: 0, curve: { n: 1, open: 1 }, within: { of: 0 } });
    const timed = async (now: number) => (await allOf(timedSets(await grant(world.lead, "times.read", null), now)))[0];
    expect(await timed(NOW + DAY)).toMatchObject({ workingMs: HOUR, pausedMs: 8 * HOUR, dueAt: null, isOnFamily: true });
    // Withdrawn on Thursday at 10 and answered at 13: one hour and three, of eight promised.
    done(await withdraw(id, world.therapist, NOW + DAY));
    expect(await times(NOW + DAY + HOUR)).toMatchObject({ waiting: 1, onFamily: 0, overdue: 0, oldest: { workingMs: 2 * HOUR } });
    done(await send(world.therapist, "set", {}, NOW + DAY + 3 * HOUR));
    expect(await timed(NOW + 3 * DAY)).toMatchObject({ workingMs: 4 * HOUR, pausedMs: 8 * HOUR, dueAt: NOW + DAY + 7 * HOUR, isOnFamily: false });
    expect((await times(NOW + 3 * DAY)).within).toMatchObject({ count: 1, of: 1 });
  });

  it("ends its pause at an answer sent without waiting, which kept the promise", async () => {
    await asked();
    done(await send(world.colleague, "set", {}, NOW + 7 * DAY));
    const [timed] = await allOf(timedSets(await grant(world.lead, "times.read", null), NOW + 9 * DAY));
    expect(timed).toMatchObject({ answeredAt: NOW + 7 * DAY, workingMs: HOUR, dueAt: NOW + 7 * DAY + 7 * HOUR });
    expect((await times(NOW + 9 * DAY)).within).toMatchObject({ count: 1, of: 1 });
  });

  it("is not turned back: what was late before it was asked about stays late in the figures", async () => {
    database().update(photoSets).set({ sentAt: NOW - 3 * DAY }).where(eq(photoSets.id, "set")).run();
    await asked();
    expect(await times(NOW + HOUR)).toMatchObject({ waiting: 0, onFamily: 1, overdue: 0, within: { count: 0, of: 1 } });
  });
});

it("the database holds one open question a set, ended once, by words or by a withdrawal", () => {
  const db = database();
  const row = { childId: "child-1", familyId: "family-a", photoSetId: "set", words: "Why?", askedBy: "therapist", askedAt: NOW };
  db.insert(backQuestions).values({ id: "q", ...row }).run();
  expect(() => db.insert(backQuestions).values({ id: "r", ...row }).run()).toThrow(/UNIQUE/);
  expect(() => db.insert(backQuestions).values({ id: "r", ...row, childId: "child-2" }).run()).toThrow(/FOREIGN KEY|UNIQUE/);
  const change = (values: Partial<typeof backQuestions.$inferInsert>) => () => db.update(backQuestions).set(values).where(eq(backQuestions.id, "q")).run();
  expect(change({ reply: "So." })).toThrow(/CHECK/);
  expect(change({ repliedAt: NOW })).toThrow(/CHECK/);
  expect(change({ withdrawnAt: NOW })).toThrow(/CHECK/);
  expect(change({ reply: "So.", repliedBy: "mother", repliedAt: NOW, withdrawnBy: "therapist", withdrawnAt: NOW })).toThrow(/CHECK/);
  change({ reply: "So.", repliedBy: "mother", repliedAt: NOW })();
  db.insert(backQuestions).values({ id: "r", ...row }).run();
});
