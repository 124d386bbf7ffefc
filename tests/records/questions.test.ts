import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { answers } from "@/db/schema/answers";
import { auditEntries, notices } from "@/db/schema/machinery";
import { photoSets } from "@/db/schema/photos";
import { closures } from "@/db/schema/practice";
import { questions, replies } from "@/db/schema/questions";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { TAKE_BACK_MS } from "@/lib/domain/answering/publication";
import { amendAnswer } from "@/lib/records/amendments";
import { answerTimes } from "@/lib/records/answer-times";
import { entryOf } from "@/lib/records/answers-read";
import { newestAnswer } from "@/lib/records/newest-answer";
import { queueOf } from "@/lib/records/queue";
import { askQuestion, childQuestions, MOST_WAITING, questionDesk, readOpenQuestions, replyTo } from "@/lib/records/questions";
import { takeBackAnswer } from "@/lib/records/take-back";
import { voidPhotoSet } from "@/lib/records/voiding";
import { addSet, addSymptom, answer, answeringWorld, EXERCISE, HOUR, NOW, send } from "@/tests/records/answering-scene";
import { codeOf, done } from "@/tests/records/desk-scene";

/** After the answer sent at NOW is with the family. */
const OUT = NOW + TAKE_BACK_MS;

let world: ReturnType<typeof answeringWorld>;
let answerId: string;
beforeEach(async () => {
  world = answeringWorld();
  addSet("set");
  answerId = done(await send(world.therapist, "set")).answerId;
});
afterEach(() => world.close());

const ask = async (words = "May she use a thicker mat?", now = OUT, who: Actor = world.mother, childId = "child-1", of = answerId) =>
  askQuestion(await grant(who, "question.ask", childId), { answerId: of, words }, now);
const asked = async (words?: string, now = OUT) => done(await ask(words, now)).questionId;
const reply = async (questionId: string, words = "Yes, a mat is fine.", who: Actor = world.therapist, change: { readonly sideReason?: string; readonly wordsConfirmed?: boolean } = {}, now = OUT + HOUR, childId = "child-1") =>
  replyTo(await grant(who, "question.reply", childId), { questionId, words, sideReason: "", wordsConfirmed: false, ...change }, now);
const thread = async (who: Actor, now = OUT + HOUR) => (await entryOf(await grant(who, "child.read", "child-1"), "set", now))?.answer?.thread;
const queue = async (now: number) => (await queueOf(await grant(world.therapist, "queue.read", null), now)).rows;
const amend = async (now: number) => done(await amendAnswer(await grant(world.therapist, "answer.write", "child-1"), answer("set"), { basedOn: answerId, reason: "Said more plainly." }, now)).answerId;

describe("a family's question", () => {
  it("is read by every guardian of the child, in order, with its reply", async () => {
    const first = await asked(" May she use a thicker mat? ");
    done(await ask("And socks?", OUT + 60_000, world.father));
    done(await reply(first));
    for (const who of [world.mother, world.father]) {
      expect(await thread(who)).toMatchObject([
        { words: "May she use a thicker mat?", askedBy: "mother", askedAt: OUT, reply: { words: "Yes, a mat is fine.", repliedBy: "therapist", repliedAt: OUT + HOUR } },
        { words: "And socks?", askedBy: "father", reply: null },
      ]);
    }
    expect((await newestAnswer(await grant(world.father, "child.read", "child-1"), EXERCISE, [], OUT + HOUR)).answered).toEqual({ photoSetId: "set", asked: 2 });
  });

  it("is refused while as many wait as are still read, and taken again after a reply", async () => {
    const [first] = await Promise.all(Array.from({ length: MOST_WAITING }, (_, at) => asked(`Question number ${at}?`)));
    expect(codeOf(await ask("One too many?"))).toBe("questions-waiting");
    expect(codeOf(await ask("From the other parent?", OUT, world.father))).toBe("questions-waiting");
    done(await reply(first ?? ""));
    expect(await asked("There is room again?", OUT + 2 * HOUR)).toBeTruthy();
  });

  it("is about the child's own answer alone", async () => {
    await expect(ask("Whose is this?", OUT, world.stranger)).rejects.toThrow();
    await expect(ask("Whose is this?", OUT, world.father, "child-2")).rejects.toThrow();
    await expect(ask("Staff ask nothing.", OUT, world.therapist)).rejects.toThrow();
    expect(codeOf(await ask("Of the sister?", OUT, world.mother, "child-2"))).toBe("question-closed");
    expect(codeOf(await ask("Of another family?", OUT, world.stranger, "child-3"))).toBe("question-closed");
    const id = await asked();
    await expect(reply(id, "No family replies.", world.mother)).rejects.toThrow();
    await expect(reply(id, "Nor another practice.", world.outsider)).rejects.toThrow();
    expect(codeOf(await reply(id, "Under the wrong child.", world.therapist, {}, OUT, "child-2"))).toBe("form-invalid");
    expect(await questionDesk(await grant(world.therapist, "question.reply", "child-3"), await grant(world.therapist, "answer.write", "child-3"), id, OUT)).toBeNull();
    expect(await childQuestions(await grant(world.therapist, "question.reply", "child-2"))).toEqual([]);
    expect(database().select().from(replies).all()).toEqual([]);
  });

  it("has 3 to 1000 characters, spaces around it not counted", async () => {
    for (const words of ["", "  a  ", "ab", "x".repeat(1001)]) expect(codeOf(await ask(words))).toBe("question-length");
    for (const words of ["Why", `  ${"x".repeat(1000)}  `]) done(await ask(words));
    expect(database().select({ words: questions.words }).from(questions).all().map((row) => row.words.length).sort((a, b) => a - b)).toEqual([3, 1000]);
  });

  it("is asked once under one key, and tells the staff without a name or a word of it", async () => {
    const once = { ...(await grant(world.mother, "question.ask", "child-1")), once: "00000000-0000-4000-8000-000000000001" };
    const input = { answerId, words: "Is the knee too high?" };
    const both = [await askQuestion(once, input, OUT), await askQuestion(once, input, OUT + 5)];
    expect(both[0]).toEqual(both[1]);
    expect(database().select().from(questions).all()).toHaveLength(1);
    const told = database().select().from(notices).where(eq(notices.kind, "question-asked")).all();
    expect(told.map((each) => each.personId).sort()).toEqual(["colleague", "lead", "therapist"]);
    expect(JSON.stringify([told, database().select().from(auditEntries).all()])).not.toMatch(/knee/);
    expect(database().select({ act: auditEntries.act }).from(auditEntries).all().filter(({ act }) => act === "question.asked")).toHaveLength(1);
  });

  it("waits for an answer that is with the family, never for one on its way, taken back or voided", async () => {
    expect(codeOf(await ask("Too early?", OUT - 1))).toBe("question-closed");
    addSet("other");
    const back = done(await send(world.therapist, "other")).answerId;
    done(await takeBackAnswer(await grant(world.therapist, "answer.write", "child-1"), back, NOW + 1));
    expect(codeOf(await ask("Taken back?", OUT, world.mother, "child-1", back))).toBe("question-closed");
    const id = await asked();
    done(await voidPhotoSet(await grant(world.therapist, "answer.write", "child-1"), "set", OUT + 1));
    expect(codeOf(await ask("Wrong child?", OUT + 2))).toBe("question-closed");
    expect((await queue(OUT + 2)).map((row) => row.id)).toEqual(["other"]);
    expect(codeOf(await reply(id))).toBe("set-voided");
  });

  it("still gets its reply when photo consent was withdrawn and the set counts nowhere", async () => {
    const id = await asked();
    database().update(photoSets).set({ voidedAt: OUT + 1, voidReason: "consent-withdrawn" }).where(eq(photoSets.id, "set")).run();
    expect(codeOf(await ask("One more?", OUT + 2))).toBe("question-closed");
    expect((await queue(OUT + 2)).map((row) => row.id)).toEqual([id]);
    done(await reply(id));
  });

  it("stays with the version it was asked about", async () => {
    const id = await asked("About the first one?");
    const second = await amend(OUT + 1);
    const now = OUT + 1 + TAKE_BACK_MS;
    expect(codeOf(await ask("The old one again?", now))).toBe("question-closed");
    done(await ask("About the new one?", now, world.mother, "child-1", second));
    done(await reply(id));
    const entry = await entryOf(await grant(world.mother, "child.read", "child-1"), "set", OUT + 2 * HOUR);
    expect(entry?.answer).toMatchObject({ answerId: second, thread: [{ words: "About the new one?", reply: null }] });
    expect(entry?.earlier).toMatchObject([{ answerId, thread: [{ words: "About the first one?", reply: { words: "Yes, a mat is fine." } }] }]);
    const about = await questionDesk(await grant(world.therapist, "question.reply", "child-1"), await grant(world.therapist, "answer.write", "child-1"), id, OUT + 2 * HOUR);
    expect(about).toMatchObject({ isAmended: true, answer: { answerId }, thread: [{ questionId: id }], childName: "child-1" });
  });
});

describe("a reply", () => {
  it("is the first one; the second is refused and changes nothing", async () => {
    const id = await asked();
    done(await reply(id, "The first reply."));
    expect(codeOf(await reply(id, "The second reply.", world.colleague))).toBe("replied-already");
    expect(database().select({ words: replies.words }).from(replies).all()).toEqual([{ words: "The first reply." }]);
    const told = database().select().from(notices).where(eq(notices.kind, "reply")).all();
    expect(told.map((each) => each.personId).sort()).toEqual(["father", "mother"]);
    expect(JSON.stringify(told)).not.toContain("first reply");
  });

  it("names the set-up's sides, or is confirmed with a reason that is kept", async () => {
    // Thoracic right, lumbar left: this child lies on the LEFT (PRODUCT, section 3).
    const id = await asked();
    expect(codeOf(await reply(id, "Lie on the right side."))).toBe("words-side-disagree");
    expect(codeOf(await reply(id, "Lie on the right side.", world.therapist, { wordsConfirmed: true }))).toBe("words-side-disagree");
    done(await reply(id, "Lie on the right side.", world.therapist, { wordsConfirmed: true, sideReason: "She asked what not to do." }));
    expect(database().select().from(replies).get()).toMatchObject({ sideReason: "She asked what not to do." });
    done(await reply(await asked("And the left?"), "Lie on the left side."));
  });

  it("has 3 to 1000 characters", async () => {
    const id = await asked();
    for (const words of [" ", "no", "x".repeat(1001)]) expect(codeOf(await reply(id, words))).toBe("question-length");
  });
});

describe("questions to answer", () => {
  it("stand with the photo sets on a clock of their own: danger, then overdue, then due time", async () => {
    // Promised 8 working hours of days that run 09:00 to 17:00; asked on Wednesday 10:00:30, so due Thursday 10:00:30. Worked by hand.
    const id = await asked();
    const day = 24 * HOUR;
    addSet("before", { sentAt: OUT - HOUR / 2 });
    addSet("after", { sentAt: OUT + HOUR });
    addSet("danger", { childId: "child-3", sentAt: OUT + 2 * HOUR });
    addSymptom("dizzy", "child-3", "today", OUT + 2 * HOUR);
    expect((await queue(OUT + 3 * HOUR)).map((row) => row.id)).toEqual(["danger", "before", id, "after"]);
    expect((await queue(OUT + 3 * HOUR)).find((row) => row.id === id)).toMatchObject({
      kind: "question", childName: "child-1", words: "May she use a thicker mat?", sentAt: OUT, dueAt: OUT + day, isOverdue: false, leftMs: 5 * HOUR, leftShare: 0.625, symptom: null,
    });
    expect((await queue(OUT + day + HOUR)).find((row) => row.id === id)).toMatchObject({ isOverdue: true, leftMs: HOUR, leftShare: 0 });
    addSymptom("numb", "child-1", "urgent", OUT + 3 * HOUR);
    expect((await queue(OUT + 3 * HOUR)).slice(0, 3).map((row) => row.id)).toEqual(["before", id, "after"]);
    done(await reply(id));
    expect((await queue(OUT + 3 * HOUR)).map((row) => row.id)).not.toContain(id);
  });

  it("keep to closures, and to a line of their own among the answer times", async () => {
    await asked();
    const times = async (now: number) => answerTimes(await grant(world.lead, "times.read", null), "week", now);
    expect((await times(OUT + HOUR)).kinds.question).toMatchObject({
      waiting: 1, oldest: { since: OUT, dueAt: OUT + 24 * HOUR, workingMs: HOUR }, overdue: 0, dueToday: 0, figures: { curve: { n: 1, open: 1 }, median: { estimate: null }, within: { of: 0 } },
    });
    expect((await times(OUT + 23 * HOUR)).kinds.question).toMatchObject({ overdue: 0, dueToday: 1 });
    expect((await times(OUT + 25 * HOUR)).kinds.question).toMatchObject({ overdue: 1, dueToday: 0 });
    // One photo set was sent and answered: the question is no second one.
    expect(await times(OUT + 25 * HOUR)).toMatchObject({ waiting: 0, curve: { n: 1, open: 0 } });
    database().insert(closures).values({ id: "c", practiceId: "practice", day: "2026-03-05", label: "Training", recordedBy: "lead", recordedAt: OUT }).run();
    expect((await times(OUT + HOUR)).kinds.question.oldest?.dueAt).toBe(OUT + 48 * HOUR);
  });

  it("show nothing of another practice", async () => {
    await asked();
    expect([readOpenQuestions("practice").length, readOpenQuestions("elsewhere").length]).toEqual([1, 0]);
  });
});

it("the database holds one reply a question, and no question without an answer of that child", () => {
  const db = database();
  db.insert(questions).values({ id: "q", childId: "child-1", familyId: "family-a", answerId, words: "Why?", askedBy: "mother", askedAt: OUT }).run();
  expect(() => db.insert(questions).values({ id: "r", childId: "child-2", familyId: "family-a", answerId, words: "Why?", askedBy: "mother", askedAt: OUT }).run()).toThrow(/FOREIGN KEY/);
  const one = { childId: "child-1", familyId: "family-a", questionId: "q", words: "So.", repliedBy: "therapist", repliedAt: OUT };
  db.insert(replies).values({ id: "1", ...one }).run();
  expect(() => db.insert(replies).values({ id: "2", ...one }).run()).toThrow(/UNIQUE/);
  expect(db.select({ id: answers.id }).from(answers).all()).toHaveLength(1);
});
