import { afterEach, beforeEach, expect, it } from "vitest";
import { database } from "@/db/client";
import { auditEntries } from "@/db/schema/machinery";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { standingOf } from "@/lib/records/standing";
import { setWritesWith, writesWithOf } from "@/lib/records/writes-with";
import { answeringWorld, EXERCISE, NOW } from "@/tests/records/answering-scene";
import { codeOf, refused } from "@/tests/records/desk-scene";

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => {
  world = answeringWorld();
});
afterEach(() => world.close());

const read = async (who: Actor = world.mother) => writesWithOf(await grant(who, "child.read", "child-1"));
const set = async (who: Actor, hand: "left" | "right" | null, version: number) =>
  codeOf(await setWritesWith(await grant(who, "writes-with.set", "child-1"), { hand, version }, NOW));

it("is not asked, then said by a guardian, then put right by staff, each written down", async () => {
  expect(await read()).toEqual({ hand: null, isAsked: false, version: 1 });
  expect(await set(world.mother, "right", 1)).toBe("done");
  expect(await read(world.father)).toEqual({ hand: "right", isAsked: true, version: 2 });
  expect(await set(world.therapist, "left", 2)).toBe("done");
  expect(await read()).toEqual({ hand: "left", isAsked: true, version: 3 });
  expect(database().select({ act: auditEntries.act, actor: auditEntries.actorId, object: auditEntries.objectId }).from(auditEntries).all())
    .toEqual(["mother", "therapist"].map((actor) => ({ act: "writes-with.set", actor, object: "child-1" })));
});

it("is asked once: who is not sure gives none, and is not asked again", async () => {
  expect(await set(world.mother, null, 1)).toBe("done");
  expect(await read()).toEqual({ hand: null, isAsked: true, version: 2 });
});

it("does not overwrite what somebody else said meanwhile", async () => {
  await set(world.mother, "right", 1);
  expect(await set(world.father, "left", 1)).toBe("stale-version");
  expect((await read()).hand).toBe("right");
});

it("is of this child alone, and nobody else's to say", async () => {
  await set(world.mother, "right", 1);
  expect((await writesWithOf(await grant(world.mother, "child.read", "child-2"))).hand).toBeNull();
  for (const who of [world.stranger, world.outsider]) expect(await refused(grant(who, "writes-with.set", "child-1"))).toMatch(/404/);
});

it("changes nothing that is computed", async () => {
  const before = JSON.stringify(await standingOf(await grant(world.mother, "child.read", "child-1"), EXERCISE, NOW));
  await set(world.mother, "right", 1);
  expect(JSON.stringify(await standingOf(await grant(world.mother, "child.read", "child-1"), EXERCISE, NOW))).toBe(before);
});
