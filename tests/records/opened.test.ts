import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { database } from "@/db/client";
import { auditEntries } from "@/db/schema/machinery";
import { grant } from "@/lib/access/grant";
import { POLICY, readsAs, type Ability } from "@/lib/domain/policy/policy";
import { answeringWorld } from "@/tests/records/answering-scene";

// ASVS 5.0, 16.3.2: access to sensitive data is logged, and so is a failed authorization. A quarter of an hour is ours.
const MINUTE = 60_000;
let world: ReturnType<typeof answeringWorld>;
beforeEach(() => {
  vi.useFakeTimers({ toFake: ["Date"], now: Date.UTC(2026, 10, 28, 12) });
  world = answeringWorld();
});
afterEach(() => {
  world.close();
  vi.useRealTimers();
});

const entries = () => database().select({ act: auditEntries.act, actor: auditEntries.actorId, object: auditEntries.objectId, family: auditEntries.familyId, outcome: auditEntries.outcome, session: auditEntries.sessionHash }).from(auditEntries).all();
const opened = () => entries().map(({ act, actor, object }) => `${actor} ${act} ${object}`);
const UNKNOWN = "99999999-9999-4999-8999-999999999999";

test("a member of staff who opens a child's pages leaves one entry a quarter of an hour, whichever pages they are", async () => {
  for (let n = 0; n < 5; n += 1) {
    await grant(world.therapist, "child.read", "child-1");
    await grant(world.therapist, "progress.read", "child-1");
    await grant(world.therapist, "answer.write", "child-1");
  }
  expect(entries()).toEqual([{ act: "child.opened", actor: "therapist", object: "child-1", family: "family-a", outcome: "done", session: "session-therapist" }]);
  vi.advanceTimersByTime(15 * MINUTE);
  await grant(world.therapist, "child.read", "child-1");
  expect(entries()).toHaveLength(2);
});

test("another child, another person and another sign-in have entries of their own; so have the family and the lists", async () => {
  await grant(world.therapist, "child.read", "child-1");
  await grant(world.therapist, "child.read", "child-3");
  await grant(world.lead, "child.read", "child-1");
  await grant({ ...world.therapist, sessionId: "another" }, "child.read", "child-1");
  await grant(world.therapist, "family.read", "family-b");
  await grant(world.therapist, "queue.read", null);
  await grant(world.therapist, "caseload.read", null);
  expect(opened()).toEqual([
    "therapist child.opened child-1", "therapist child.opened child-3", "lead child.opened child-1", "therapist child.opened child-1",
    "therapist family.opened family-b", "therapist queue.opened practice", "therapist caseload.opened practice",
  ]);
});

test("a family that reads its own pages leaves none", async () => {
  await grant(world.mother, "child.read", "child-1");
  await grant(world.mother, "family.read", "family-a");
  expect(entries()).toEqual([]);
});

test("every ability by which staff read what is written about children is marked", () => {
  const reading = (Object.keys(POLICY) as Ability[]).filter((ability) => POLICY[ability].scope !== "self" && ability.endsWith(".read") && (POLICY[ability].roles as readonly string[]).includes("therapist"));
  // About the practice, its figures over everybody, and its library: no child is named there.
  const ofNobody = ["practice.read", "times.read", "teaching.read", "cues.read", "exercise.read"];
  expect(reading.filter((ability) => readsAs(ability) === null).toSorted()).toEqual(ofNobody.toSorted());
});

test("whoever is refused leaves an entry with the id they asked for, once, and never with what is no id", async () => {
  for (const id of [UNKNOWN, UNKNOWN, "child-3", "Lena's mother <b>"]) await expect(grant(world.mother, "child.read", id)).rejects.toThrow();
  await expect(grant(world.therapist, "alarms.read", null)).rejects.toThrow();
  await expect(grant(world.outsider, "child.read", UNKNOWN)).rejects.toThrow();
  expect(entries().map(({ act, actor, object, outcome }) => [act, actor, object, outcome])).toEqual([
    ["child.read", "mother", UNKNOWN, "refused"], ["child.read", "mother", null, "refused"], ["alarms.read", "therapist", null, "refused"], ["child.read", "therapist", UNKNOWN, "refused"],
  ]);
});

test("somebody who tries doors by the thousand does not fill the log", async () => {
  for (let n = 0; n < 1000; n += 1) await expect(grant(world.mother, "child.read", UNKNOWN.replace(/^9{8}/, String(10_000_000 + n)))).rejects.toThrow();
  expect(entries()).toHaveLength(200);
  await expect(grant(world.father, "child.read", UNKNOWN)).rejects.toThrow();
  expect(entries()).toHaveLength(201);
});
