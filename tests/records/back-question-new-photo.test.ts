import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { notices } from "@/db/schema/machinery";
import { photoSets, photos } from "@/db/schema/photos";
import { backQuestions } from "@/db/schema/questions";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { timedSets } from "@/lib/records/answer-times";
import { entryOf } from "@/lib/records/answers-read";
import { openBackQuestions } from "@/lib/records/back-question-reads";
import { answerTherapist, askFamily, withdrawFromFamily } from "@/lib/records/back-questions";
import { queueOf } from "@/lib/records/queue";
import { sendPhotoSet, type SendInput } from "@/lib/records/sending";
import { voidPhotoSet } from "@/lib/records/voiding";
import { addSet, answeringWorld, EXERCISE, HOUR, NOW, send } from "@/tests/records/answering-scene";
import { codeOf, done } from "@/tests/records/desk-scene";
import { allOf } from "@/tests/records/in-lots";

// Wednesday 10:00, open 09:00 to 17:00, 8 working hours promised; the set was sent at 09:00. Figures worked by hand.
let world: ReturnType<typeof answeringWorld>;
let question: string;
beforeEach(async () => {
  world = answeringWorld();
  addSet("set");
  question = done(await askFamily(await grant(world.therapist, "back-question.ask", "child-1"), { photoSetId: "set", words: "Is there a second bag under her?", sideReason: "", wordsConfirmed: false }, NOW)).backQuestionId;
});
afterEach(() => world.close());

const NONE = { urgent: { noticed: [], isNone: true }, today: { noticed: [], isNone: true } } as const;

/** A photo of the child on the LEFT side, taken then by its own file, sent by the product's own act. */
async function sendNew({ id = "new", childId = "child-1", takenAt = NOW + HOUR, now = NOW + 2 * HOUR, who = world.mother, ...more }: {
  readonly id?: string; readonly childId?: string; readonly takenAt?: number | null; readonly now?: number; readonly who?: Actor;
} & Partial<Pick<SendInput, "taken" | "waitedMs">> = {}) {
  const db = database();
  const of = { childId, familyId: "family-a" };
  db.insert(photoSets).values({ id, ...of, exerciseKey: EXERCISE, phase: "position", setupId: `setup-${childId}`, sentBy: who.personId, startedAt: now }).run();
  db.insert(photos).values({
    id: `${id}-photo`, ...of, photoSetId: id, ordinal: 1, view: "behind", width: 640, height: 480, placeholder: "", sharpness: 1, exposureMean: 0.5, exposureDarkShare: 0,
    exposureLightShare: 0, hash: "0000000000000000", mirroredFlag: false, receivedBytes: 1, receivedSha256: "x", storedAt: now, takenAt,
  }).run();
  return sendPhotoSet(await grant(who, "photo-set.send", childId), {
    setId: id, exerciseKey: EXERCISE, setupId: `setup-${childId}`, photos: [{ photoId: `${id}-photo`, view: "behind", head: { x: 0.1, y: 0.5 }, facing: "back" }],
    taken: null, symptoms: NONE, note: "", ...more,
  }, now);
}
const row = () => database().select().from(backQuestions).where(eq(backQuestions.id, question)).get();
const queue = async (now: number) => queueOf(await grant(world.lead, "queue.read", null), now);
const asked = async (who: Actor = world.father, now = NOW + 3 * HOUR) => (await entryOf(await grant(who, "child.read", "child-1"), "set", now))?.asked;

describe("a new photo set instead of words", () => {
  it("ends the question for every carer, brings the set back with its clock, and both sides can find the photo", async () => {
    done(await sendNew({ who: world.father }));
    expect(row()).toMatchObject({ newPhotoAt: NOW + 2 * HOUR, reply: null, repliedAt: null, withdrawnAt: null });
    expect(await openBackQuestions(await grant(world.mother, "child.read", "child-1"), NOW + 3 * HOUR)).toEqual([]);
    expect(await asked()).toMatchObject([{ newPhotoAt: NOW + 2 * HOUR, newPhotoSetId: "new" }]);
    const now = await queue(NOW + 3 * HOUR);
    expect(now.onFamily).toEqual([]);
    // One hour before the question, none during two, one since: six of eight are left, to Thursday at 11.
    expect(now.rows.find((each) => each.id === "set")).toMatchObject({ leftMs: 6 * HOUR, dueAt: NOW + 25 * HOUR, asked: [{ newPhotoSetId: "new" }] });
    expect(now.rows.find((each) => each.id === "new")).toMatchObject({ leftMs: 7 * HOUR });
    expect((await allOf(timedSets(await grant(world.lead, "times.read", null), NOW + 3 * HOUR))).find((each) => each.photoSetId === "set")).toMatchObject({ workingMs: 2 * HOUR, pausedMs: 2 * HOUR, isOnFamily: false });
    // What was to tell or remind them and has not left never does; another question may be asked.
    expect(database().select({ gaveUpAt: notices.gaveUpAt }).from(notices).where(eq(notices.kind, "reply")).all()).toEqual([{ gaveUpAt: NOW + 2 * HOUR }, { gaveUpAt: NOW + 2 * HOUR }]);
    done(await askFamily(await grant(world.therapist, "back-question.ask", "child-1"), { photoSetId: "set", words: "And which mat is that?", sideReason: "", wordsConfirmed: false }, NOW + 3 * HOUR));
  });

  it("leaves the question open where the photo is older, has no known time, lay on the phone meanwhile, or is another child's", async () => {
    done(await sendNew({ id: "older", takenAt: NOW - HOUR, taken: "before" }));
    done(await sendNew({ id: "unknown", takenAt: null, taken: "before" }));
    // By the parent's word it was made today; the day began before the question.
    done(await sendNew({ id: "today", takenAt: null, taken: "earlier-today" }));
    done(await sendNew({ id: "waited", takenAt: null, taken: "just-now", waitedMs: 3 * HOUR }));
    done(await sendNew({ id: "sister", childId: "child-2" }));
    expect(row()).toMatchObject({ newPhotoAt: null });
    expect((await queue(NOW + 3 * HOUR)).onFamily.map(({ id }) => id)).toEqual(["set"]);
    done(await sendNew({ id: "now", takenAt: null, taken: "just-now", now: NOW + 3 * HOUR }));
    expect(row()).toMatchObject({ newPhotoAt: NOW + 3 * HOUR });
  });

  it("changes nothing that words or a withdrawal ended before, and words that come after it are refused", async () => {
    done(await sendNew());
    expect(codeOf(await answerTherapist(await grant(world.mother, "back-question.reply", "child-1"), { backQuestionId: question, words: "Two bags." }, NOW + 3 * HOUR))).toBe("back-question-closed");
    expect(codeOf(await withdrawFromFamily(await grant(world.therapist, "back-question.ask", "child-1"), question, NOW + 3 * HOUR))).toBe("stale-version");
    for (const end of ["words", "withdrawal"] as const) {
      const set = addSet(`set-${end}`);
      question = done(await askFamily(await grant(world.therapist, "back-question.ask", "child-1"), { photoSetId: set, words: "And here?", sideReason: "", wordsConfirmed: false }, NOW)).backQuestionId;
      if (end === "words") done(await answerTherapist(await grant(world.mother, "back-question.reply", "child-1"), { backQuestionId: question, words: "Two bags." }, NOW + HOUR));
      else done(await withdrawFromFamily(await grant(world.therapist, "back-question.ask", "child-1"), question, NOW + HOUR));
      done(await sendNew({ id: `new-${end}` }));
      expect(row(), end).toMatchObject({ newPhotoAt: null });
    }
  });

  it("stays what ended the question when that photo turns out to be the wrong child's: the asked set waits for its therapist", async () => {
    done(await sendNew());
    done(await voidPhotoSet(await grant(world.therapist, "answer.write", "child-1"), "new", NOW + 3 * HOUR));
    expect(await asked(world.mother, NOW + 4 * HOUR)).toMatchObject([{ newPhotoAt: NOW + 2 * HOUR, newPhotoSetId: null }]);
    const now = await queue(NOW + 4 * HOUR);
    expect([now.onFamily, now.rows.map(({ id }) => id)]).toEqual([[], ["set"]]);
  });

  it("is no answer to a question whose set was answered meanwhile: its answer time counts to that answer", async () => {
    done(await send(world.therapist, "set", {}, NOW + HOUR));
    done(await sendNew({ takenAt: NOW + 1.5 * HOUR }));
    expect((await allOf(timedSets(await grant(world.lead, "times.read", null), NOW + 3 * HOUR))).find((each) => each.photoSetId === "set")).toMatchObject({ answeredAt: NOW + HOUR, workingMs: HOUR });
  });
});
