import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { eq } from "drizzle-orm";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { dataDir, database } from "@/db/client";
import { answers } from "@/db/schema/answers";
import { photoSets } from "@/db/schema/photos";
import { closures, extraOpenings, practices, workingHours } from "@/db/schema/practice";
import { backQuestions } from "@/db/schema/questions";
import { settledTimes, settledWeeks } from "@/db/schema/times";
import { localDate } from "@/lib/domain/time/local";
import { BY } from "@/lib/records/figures-by";
import { settleWeeks } from "@/lib/records/settled-times";
import { answeringWorld, EXERCISE, NOW } from "@/tests/records/answering-scene";
import { bothWays, count, same } from "@/tests/records/settled-scene";

const HOUR = 3_600_000;
const DAY = 24 * HOUR;
const WEEK = 7 * DAY;
const SENT_AT = NOW - 8 * WEEK;

const own = { childId: "child-1", familyId: "family-a" };
const asked = { ...own, photoSetId: "one", words: "Which?", askedBy: "therapist" };
const given = { ...own, kind: "answer", summary: "", nextStep: "keep-going", answeredBy: "therapist", answeredAt: SENT_AT + 3 * DAY, publishedAt: SENT_AT + 3 * DAY } as const;
const day = { id: "day", practiceId: "practice", day: localDate(SENT_AT, "Europe/London"), recordedBy: "lead" };
const spans = JSON.stringify([["18:00", "20:00"]]);
const hours = { practiceId: "practice", timeZone: "Europe/London", week: JSON.stringify({ 2: [["08:00", "12:00"]], 4: [["08:00", "12:00"]] }), promiseMinutes: 60, questionMinutes: 480, symptomMinutes: 60, recordedBy: "lead" };
const addSet = (id: string, sentAt: number, childId = "child-1") => database().insert(photoSets).values({ ...own, id, childId, exerciseKey: EXERCISE, phase: "position", setupId: `setup-${childId}`, sentBy: "mother", startedAt: 0, sentAt }).run();

let world: ReturnType<typeof answeringWorld>;
beforeAll(() => {
  world = answeringWorld();
  const db = database();
  // What is written here has no one to lose it.
  db.$client.pragma("synchronous = OFF");
  for (const [id, at] of [["waits", 0], ["one", HOUR], ["two", 2 * HOUR]] as const) {
    addSet(id, SENT_AT + at);
    if (id !== "waits") db.insert(answers).values({ ...given, id: `answer-${id}`, photoSetId: id }).run();
  }
  // On Sunday evening, which is Monday elsewhere.
  addSet("sunday", SENT_AT + 4 * DAY + 10 * HOUR, "child-2");
  db.insert(answers).values({ ...given, id: "answer-sunday", childId: "child-2", photoSetId: "sunday", answeredAt: SENT_AT + 6 * DAY, publishedAt: SENT_AT + 6 * DAY }).run();
  db.insert(backQuestions).values({ ...asked, id: "old", askedAt: SENT_AT + 2 * HOUR, repliedAt: SENT_AT + 4 * HOUR, reply: "That.", repliedBy: "mother" }).run();
  const next = localDate(SENT_AT + DAY, "Europe/London");
  db.insert(workingHours).values({ ...hours, id: "later", effectiveFrom: SENT_AT - WEEK, week: JSON.stringify({ 3: [["09:00", "17:00"]], 4: [["09:00", "17:00"]], 5: [["10:00", "15:00"]] }), recordedAt: SENT_AT - WEEK }).run();
  db.insert(closures).values({ ...day, id: "closed", day: next, label: "", recordedAt: SENT_AT - WEEK }).run();
  db.insert(extraOpenings).values({ ...day, id: "opened", day: next, spans, recordedAt: SENT_AT - WEEK }).run();
});
afterAll(() => world.close());

/** By trigger, what it is there for. */
const REACHES_BACK: Readonly<Record<string, readonly [string, () => unknown]>> = {
  settled_set_sent: ["a set sent then", () => addSet("three", SENT_AT + DAY, "child-2")],
  settled_set_changed: ["a set that counts nowhere", () => database().update(photoSets).set({ voidedAt: NOW, voidReason: "wrong-child" }).where(eq(photoSets.id, "one")).run()],
  settled_set_erased: ["a set erased", () => database().delete(photoSets).where(eq(photoSets.id, "waits")).run()],
  settled_answered: ["an answer", () => database().insert(answers).values({ ...given, id: "late", photoSetId: "waits", answeredAt: NOW, publishedAt: NOW }).run()],
  settled_answer_changed: ["an answer taken back", () => database().update(answers).set({ takenBackAt: SENT_AT + 3 * DAY }).where(eq(answers.id, "answer-one")).run()],
  settled_answer_erased: ["an answer erased", () => database().delete(answers).where(eq(answers.id, "answer-one")).run()],
  settled_asked: ["a question asked", () => database().insert(backQuestions).values({ ...asked, id: "new", askedAt: SENT_AT + 4 * HOUR, repliedAt: SENT_AT + 6 * HOUR, reply: "This.", repliedBy: "mother" }).run()],
  settled_question_changed: ["a question that ended otherwise", () => database().update(backQuestions).set({ repliedAt: SENT_AT + 5 * HOUR }).run()],
  settled_question_erased: ["a question erased", () => database().delete(backQuestions).run()],
  settled_hours: ["other hours from then on", () => database().insert(workingHours).values({ ...hours, id: "other", effectiveFrom: SENT_AT - DAY, recordedAt: SENT_AT - DAY }).run()],
  settled_hours_changed: ["hours that were others", () => database().update(workingHours).set({ week: hours.week, promiseMinutes: 60 }).where(eq(workingHours.id, "later")).run()],
  settled_hours_erased: ["hours erased", () => database().delete(workingHours).where(eq(workingHours.id, "later")).run()],
  settled_closures: ["a day closed then", () => database().insert(closures).values({ ...day, label: "", recordedAt: SENT_AT - DAY }).run()],
  settled_closures_ended: ["a closure that ended then", () => database().update(closures).set({ removedAt: SENT_AT - DAY }).run()],
  settled_closures_changed: ["a closure of another day", () => database().update(closures).set({ day: day.day }).run()],
  settled_closures_erased: ["a closure erased", () => database().delete(closures).run()],
  settled_extra_openings: ["a day opened then", () => database().insert(extraOpenings).values({ ...day, spans, recordedAt: SENT_AT - DAY }).run()],
  settled_extra_openings_ended: ["an opening that ended then", () => database().update(extraOpenings).set({ removedAt: SENT_AT - DAY }).run()],
  settled_extra_openings_changed: ["an opening of other hours", () => database().update(extraOpenings).set({ spans: JSON.stringify([["18:00", "21:00"]]) }).run()],
  settled_extra_openings_erased: ["an opening erased", () => database().delete(extraOpenings).run()],
  settled_zone: ["another zone", () => database().update(practices).set({ timeZone: "Asia/Kolkata" }).run()],
};

const nextTurn = () => new Promise(setImmediate);
const rowOfWeek = () => database().select().from(settledWeeks).all().find(({ weekFrom, weekUntil }) => weekFrom <= SENT_AT && SENT_AT < weekUntil);
const isKept = () => (rowOfWeek()?.settledAt ?? Infinity) <= NOW;

/** Does something in the practice as it was made, and leaves that as it was. */
async function undone(work: () => Promise<void>): Promise<void> {
  const { $client: client } = database();
  client.exec("savepoint before");
  try {
    await work();
  } finally {
    client.exec("rollback to before; release before");
  }
}

describe.each(Object.entries(REACHES_BACK).map(([trigger, [what, act]], nth) => ({ trigger, what, act, nth })))("$trigger", ({ trigger, what, act, nth }) => {
  it(`takes a week out after ${what}`, () => undone(async () => {
    await settleWeeks(NOW);
    expect(isKept()).toBe(true);
    await same(world.lead, ["settled"], NOW);
    act();
    expect(rowOfWeek()).toBe(undefined);
    await same(world.lead, [what], NOW);
  }));

  it(`is all that does: without it the page would be wrong after ${what}`, () => undone(async () => {
    database().$client.exec(`drop trigger ${trigger}`);
    await settleWeeks(NOW);
    act();
    expect(isKept()).toBe(true);
    const { page, all } = await bothWays(world.lead, NOW);
    expect(page).not.toEqual(all);
  }));

  it(`ends the work on a week after ${what} in the middle of it`, () => undone(async () => {
    const settling = settleWeeks(NOW);
    while (!rowOfWeek()) await nextTurn();
    // At each of its turns by some of them.
    for (let turns = nth % BY.length; turns > 0; turns -= 1) await nextTurn();
    expect(rowOfWeek()?.settledAt).toBe(Number.MAX_SAFE_INTEGER);
    act();
    await settling;
    expect(rowOfWeek()).toBe(undefined);
    await same(world.lead, [what], NOW);
    await settleWeeks(NOW);
    await same(world.lead, [what, "settled"], NOW);
  }));
});

it("says the same at every turn of the work, and goes on where a process ended in it", async () => {
  const dir = dataDir();
  const stopped: string[] = [];
  const work = { isDone: false };
  const settling = settleWeeks(NOW).then(() => { work.isDone = true; });
  while (!work.isDone) {
    await nextTurn();
    await same(world.lead, [stopped.length], NOW);
    const copy = join(dir, String(stopped.length));
    mkdirSync(copy);
    database().$client.exec(`vacuum into '${join(copy, "trueside.db")}'`);
    stopped.push(copy);
  }
  await settling;
  const whole = [count(), database().select().from(settledTimes).all().length];
  expect(stopped.length).toBeGreaterThan(20);
  for (const copy of stopped.filter((_, nth) => nth % 6 === 3)) {
    process.env["DATA_DIR"] = copy;
    await settleWeeks(NOW);
    await same(world.lead, [copy], NOW);
    expect([count(), database().select().from(settledTimes).all().length]).toEqual(whole);
    database().$client.close();
  }
  process.env["DATA_DIR"] = dir;
});

it("has a case for each", () => {
  const triggers = database().$client.prepare("select name from sqlite_master where type = 'trigger' and name like 'settled%' and tbl_name <> 'no_more_settled'").pluck().all();
  expect(triggers.toSorted()).toEqual(Object.keys(REACHES_BACK).toSorted());
});
