import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { eq } from "drizzle-orm";
import { database } from "@/db/client";
import { answerOpenings, answers } from "@/db/schema/answers";
import { careLinks } from "@/db/schema/care";
import { auditEntries } from "@/db/schema/machinery";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { TAKE_BACK_MS } from "@/lib/domain/answering/publication";
import { markOpened, openedAt } from "@/lib/records/answer-openings";
import { addSet, answeringWorld, familyOfChild, HOUR, NOW, send } from "@/tests/records/answering-scene";

let world: ReturnType<typeof answeringWorld>;
beforeEach(async () => {
  world = answeringWorld();
  for (const [set, childId] of [["set", "child-1"], ["sister", "child-2"], ["other", "child-3"]] as const) {
    addSet(set, { childId });
    expect((await send(world.therapist, set, {}, NOW, childId)).ok).toBe(true);
  }
});
afterEach(() => world.close());

const answerTo = (set: string): string => database().select({ id: answers.id }).from(answers).where(eq(answers.photoSetId, set)).get()?.id ?? "";
const open = async (who: Actor, ids: readonly string[], now = NOW + HOUR, childId = "child-1") => markOpened(await grant(who, "child.read", childId), ids, now);
const first = (now = NOW + 9 * HOUR) => openedAt({ childId: "child-1", familyId: familyOfChild("child-1") }, answerTo("set"), now);
const rows = () => database().select({ answerId: answerOpenings.answerId, personId: answerOpenings.personId, openedAt: answerOpenings.openedAt }).from(answerOpenings).all();
const opened = () => database().select({ act: auditEntries.act }).from(auditEntries).where(eq(auditEntries.act, "answer.opened")).all().length;

describe("an answer that was opened", () => {
  it("is kept once for each carer, at the first time, with one audit entry and not one a visit", async () => {
    expect(first()).toBeNull();
    await open(world.father, [answerTo("set")], NOW + 2 * HOUR);
    await open(world.mother, [answerTo("set")]);
    await open(world.mother, [answerTo("set")], NOW + 3 * HOUR);
    expect(rows()).toEqual(expect.arrayContaining([
      { answerId: answerTo("set"), personId: "father", openedAt: NOW + 2 * HOUR }, { answerId: answerTo("set"), personId: "mother", openedAt: NOW + HOUR },
    ]));
    expect([rows().length, opened()]).toEqual([2, 2]);
    expect(first()).toBe(NOW + HOUR);
  });

  it("is none that staff look at, that is another child's, or that is not published yet", async () => {
    await open(world.therapist, [answerTo("set")]);
    await open(world.mother, [answerTo("sister"), answerTo("other"), "made-up"]);
    await open(world.mother, [answerTo("set")], NOW + TAKE_BACK_MS - 1);
    expect([rows(), opened()]).toEqual([[], 0]);
    await expect(open(world.stranger, [answerTo("set")])).rejects.toThrow();
    await open(world.mother, [answerTo("set"), answerTo("sister")], NOW + TAKE_BACK_MS);
    expect(rows()).toEqual([{ answerId: answerTo("set"), personId: "mother", openedAt: NOW + TAKE_BACK_MS }]);
  });

  it("counts by who cares for the child now", async () => {
    await open(world.father, [answerTo("set")]);
    database().update(careLinks).set({ endedAt: NOW + 2 * HOUR }).where(eq(careLinks.personId, "father")).run();
    expect(first()).toBeNull();
  });

  it("belongs to an answer and a child together, by the database itself", () => {
    const row = { answerId: answerTo("set"), childId: "child-1", familyId: "family-a", personId: "mother", openedAt: NOW };
    database().insert(answerOpenings).values(row).run();
    expect(() => database().insert(answerOpenings).values(row).run()).toThrow(/UNIQUE/);
    expect(() => database().insert(answerOpenings).values({ ...row, personId: "father", childId: "child-2" }).run()).toThrow(/FOREIGN KEY/);
  });
});
