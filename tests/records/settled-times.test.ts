import { eq, ne } from "drizzle-orm";
import { afterEach, beforeEach, expect, it } from "vitest";
import { database } from "@/db/client";
import { answers } from "@/db/schema/answers";
import { children, curveRecords, setups } from "@/db/schema/care";
import { photoSets } from "@/db/schema/photos";
import { closures, extraOpenings, practices, workingHours } from "@/db/schema/practice";
import { backQuestions } from "@/db/schema/questions";
import { settledTimes } from "@/db/schema/times";
import { localDate } from "@/lib/domain/time/local";
import { eraseRows } from "@/lib/records/erasing";
import { settleWeeks } from "@/lib/records/settled-times";
import { KINDS } from "@/tests/bench/practice-kinds";
import { between, chance, oneOf } from "@/tests/proofs/random";
import { answeringWorld, EXERCISE, familyOfChild, NOW } from "@/tests/records/answering-scene";
import { count, same } from "@/tests/records/settled-scene";

const HOUR = 3_600_000;
const DAY = 24 * HOUR;
const WEEK = 7 * DAY;
const CHILDREN = ["child-1", "child-2", "child-3"] as const;
const DAYS = [["09:00", "17:00"]] as const;

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => open());
afterEach(() => world.close());

function open(): void {
  world = answeringWorld();
  // What is written here has no one to lose it.
  database().$client.pragma("synchronous = OFF");
}

it("keeps of weeks that are over what every photo set of them says, whatever becomes of sets, answers, questions, hours and days afterwards", async () => {
  let [kept, ended, steps] = [0, 0, 0];
  for (let seed = 1; seed <= 4; seed += 1) {
    const random = chance(seed);
    const db = database();
    for (const [at, childId] of CHILDREN.entries()) {
      const kind = KINDS[at % 2] ?? KINDS[0];
      const own = { childId, familyId: familyOfChild(childId) };
      db.insert(curveRecords).values({ ...own, id: `r-${childId}`, record: kind.record, patternKey: kind.patternKey, recordedBy: "therapist", recordedAt: 0, sequence: 9 }).run();
      for (const exerciseKey of [EXERCISE, "other"]) db.insert(setups).values({ ...kind.setup, ...own, id: `${exerciseKey}-${childId}`, exerciseKey, exerciseVersion: 1, curveRecordId: `r-${childId}`, confirmedBy: "therapist", confirmedAt: 0, sequence: 9 }).run();
    }
    const id = () => crypto.randomUUID();
    const send = (sentAt: number) => {
      const here = db.select({ id: children.id }).from(children).all().map((child) => child.id);
      const [childId, exerciseKey] = [oneOf(random, here), oneOf(random, [EXERCISE, EXERCISE, "other"])];
      db.insert(photoSets).values({ id: id(), childId, familyId: familyOfChild(childId), exerciseKey, phase: "position", setupId: `${exerciseKey}-${childId}`, sentBy: "mother", startedAt: sentAt, sentAt: random() < 0.05 ? null : sentAt }).run();
    };
    const answer = (set: typeof photoSets.$inferSelect, at: number) => {
      if (set.sentAt !== null && db.select().from(answers).where(eq(answers.photoSetId, set.id)).all().every(({ takenBackAt }) => takenBackAt !== null)) {
        db.insert(answers).values({ id: id(), childId: set.childId, familyId: set.familyId, photoSetId: set.id, kind: "answer", summary: "", nextStep: "keep-going", answeredBy: oneOf(random, ["therapist", "colleague"]), answeredAt: at, publishedAt: at }).run();
      }
    };
    let now = NOW - 10 * WEEK;
    const ask = (set: typeof photoSets.$inferSelect, askedAt: number) => {
      const end = random();
      if (db.select().from(backQuestions).where(eq(backQuestions.photoSetId, set.id)).all().length > 0) return;
      db.insert(backQuestions).values({
        id: id(), childId: set.childId, familyId: set.familyId, photoSetId: set.id, words: "Which?", askedBy: "therapist", askedAt,
        ...(end < 0.4 ? { repliedAt: askedAt + between(random, 1, 60) * HOUR, reply: "That.", repliedBy: "mother" } : end < 0.6 ? { withdrawnAt: askedAt + HOUR, withdrawnBy: "therapist" } : end < 0.8 ? { newPhotoAt: askedAt + 2 * HOUR } : {}),
      }).run();
    };
    // Most are answered within days; some wait for good.
    for (let week = 0; week < 6; week += 1) {
      for (let nth = between(random, 0, 6); nth > 0; nth -= 1) send(now - (6 - week) * WEEK + between(random, 0, 7 * 24) * HOUR);
    }
    for (const set of db.select().from(photoSets).all()) {
      if (random() < 0.2) ask(set, set.startedAt + between(random, 1, 20) * HOUR);
      if (random() < 0.9) answer(set, set.startedAt + between(random, 0, 70) * HOUR);
    }
    await settleWeeks(now);
    kept += count();
    await same(world.lead, [seed, "settled"], now);
    for (let step = 0; step < 25; step += 1) {
      const [sets, said, asked] = [db.select().from(photoSets).all(), db.select().from(answers).all(), db.select().from(backQuestions).all()];
      if (sets.length === 0) break;
      const set = oneOf(random, sets);
      const [given, question] = [said.length > 0 ? oneOf(random, said) : null, asked.length > 0 ? oneOf(random, asked) : null];
      const waits = sets.find((each) => each.sentAt !== null && each.sentAt < now - WEEK && !said.some(({ photoSetId, takenBackAt }) => photoSetId === each.id && takenBackAt === null));
      const day = localDate(now - between(random, -10, 40) * DAY, "Europe/London");
      // Most changes count from now on; a clock that was wrong makes some that reach back.
      const since = random() < 0.5 ? now : now - between(random, 1, 50) * DAY;
      const closed = db.select().from(closures).all();
      const acts: Readonly<Record<string, () => unknown>> = {
        send: () => send(random() < 0.3 ? now : now - between(random, 1, 60) * DAY),
        // Answered or asked about, it goes with its child alone.
        "erase a set": () => said.some(({ photoSetId }) => photoSetId === set.id) || asked.some(({ photoSetId }) => photoSetId === set.id) || db.delete(photoSets).where(eq(photoSets.id, set.id)).run(),
        answer: () => waits && answer(waits, now),
        "erase an answer": () => given && db.delete(answers).where(eq(answers.id, given.id)).run(),
        void: () => db.update(photoSets).set({ voidedAt: set.voidedAt === null ? now : null, voidReason: set.voidedAt === null ? "wrong-child" : null }).where(eq(photoSets.id, set.id)).run(),
        ask: () => ask(set, now - between(random, 0, 200) * HOUR),
        end: () => question && question.repliedAt === null && question.withdrawnAt === null && question.newPhotoAt === null && db.update(backQuestions).set({ newPhotoAt: now }).where(eq(backQuestions.id, question.id)).run(),
        "take back": () => given && db.update(answers).set({ takenBackAt: given.publishedAt }).where(eq(answers.id, given.id)).run(),
        amend: () => given && given.takenBackAt === null && db.insert(answers).values({ ...given, id: id(), version: 1 + Math.max(...said.filter((each) => each.photoSetId === given.photoSetId).map(({ version }) => version)), answeredAt: now, publishedAt: now }).run(),
        hours: () => db.insert(workingHours).values({
          id: id(), practiceId: "practice", effectiveFrom: since, week: JSON.stringify(oneOf(random, [{ 1: DAYS, 3: DAYS }, { 2: [["08:00", "12:00"]], 6: DAYS }, {}])), timeZone: "Europe/London",
          promiseMinutes: oneOf(random, [60, 480, 2000]), questionMinutes: 480, symptomMinutes: 60, recordedBy: "lead", recordedAt: since,
        }).run(),
        close: () => db.insert(closures).values({ id: id(), practiceId: "practice", day, label: "Holiday", recordedBy: "lead", recordedAt: since }).run(),
        "close no more": () => closed.length > 0 && db.update(closures).set({ removedAt: since }).where(eq(closures.id, oneOf(random, closed).id)).run(),
        open: () => db.insert(extraOpenings).values({ id: id(), practiceId: "practice", day, spans: JSON.stringify([["10:00", "22:00"]]), recordedBy: "lead", recordedAt: since }).run(),
        // What no act does, and a hand at the database might.
        "ask earlier": () => question && db.update(backQuestions).set({ askedAt: question.askedAt - between(random, 1, 20) * HOUR }).where(eq(backQuestions.id, question.id)).run(),
        "ask never": () => question && db.delete(backQuestions).where(eq(backQuestions.id, question.id)).run(),
        "other hours": () => db.update(workingHours).set({ week: JSON.stringify({ 1: DAYS, 2: DAYS, 4: DAYS }), promiseMinutes: 700 }).where(eq(workingHours.id, oneOf(random, db.select().from(workingHours).all()).id)).run(),
        "no such hours": () => db.delete(workingHours).where(ne(workingHours.id, "hours")).run(),
        "close another day": () => closed.length > 0 && db.update(closures).set({ day }).where(eq(closures.id, oneOf(random, closed).id)).run(),
        "close never": () => closed.length > 0 && db.delete(closures).where(eq(closures.id, oneOf(random, closed).id)).run(),
        "open no more": () => db.update(extraOpenings).set({ removedAt: since }).run(),
        "open longer": () => db.update(extraOpenings).set({ spans: JSON.stringify([["01:00", "20:00"]]) }).run(),
        "open never": () => db.delete(extraOpenings).run(),
        zone: () => random() < 0.3 && db.update(practices).set({ timeZone: oneOf(random, ["Europe/London", "Asia/Kolkata", "America/New_York"]) }).run(),
        erase: () => random() < 0.3 && db.transaction((tx) => eraseRows(tx, [{ kind: "child", id: set.childId, erasedAt: now }])),
      };
      const [name] = [oneOf(random, Object.keys(acts))];
      const before = count();
      // Some happen while weeks are being worked out.
      const settling = random() < 0.3 ? settleWeeks(now) : null;
      for (let turns = settling ? between(random, 0, 60) : 0; turns > 0; turns -= 1) await new Promise(setImmediate);
      acts[name]?.();
      if (count() < before) ended += 1;
      await same(world.lead, [seed, step, name], now);
      await settling;
      if (settling) await same(world.lead, [seed, step, name, "settled meanwhile"], now);
      if (random() < 0.5) now += between(random, 1, 9) * DAY;
      if (random() < 0.4) {
        await settleWeeks(now);
        await same(world.lead, [seed, step, name, "settled"], now);
      }
      kept += count();
      steps += 1;
    }
    world.close();
    open();
  }
  expect([kept > steps, ended > 20]).toEqual([true, true]);
}, 120_000);

it("keeps nothing of a child that was erased, and no row names a child", async () => {
  const db = database();
  const own = { childId: "child-1", familyId: "family-a" };
  for (const [id, at] of [["one", 0], ["two", 9]] as const) {
    const sentAt = NOW - 8 * WEEK + at * DAY;
    db.insert(photoSets).values({ ...own, id, exerciseKey: EXERCISE, phase: "position", setupId: "setup-child-1", sentBy: "mother", startedAt: sentAt, sentAt }).run();
    db.insert(answers).values({ ...own, id: `answer-${id}`, photoSetId: id, kind: "answer", summary: "", nextStep: "keep-going", answeredBy: "therapist", answeredAt: sentAt + DAY, publishedAt: sentAt + DAY }).run();
  }
  await settleWeeks(NOW);
  expect([count() >= 2, JSON.stringify(db.select().from(settledTimes).all()).includes("child-1")]).toEqual([true, false]);
  db.transaction((tx) => eraseRows(tx, [{ kind: "child", id: "child-1", erasedAt: NOW }]));
  expect(db.select().from(settledTimes).all()).toEqual([]);
});
