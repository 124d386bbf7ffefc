import { afterEach, beforeEach, expect, it } from "vitest";
import { database } from "@/db/client";
import { auditEntries } from "@/db/schema/machinery";
import { grant } from "@/lib/access/grant";
import { addChild, addFamily, carersOf, childOf, familiesOf, familyOf, sentByChild } from "@/lib/records/families";
import { standings } from "@/lib/records/standing";
import { deskWorld, done, NOW, refused } from "@/tests/records/desk-scene";

let world: ReturnType<typeof deskWorld>;
beforeEach(() => {
  world = deskWorld();
});
afterEach(() => world.close());

it("adds a family and a child, each with its audit entry", async () => {
  const { familyId } = done(await addFamily(await grant(world.therapist, "families.add", null), "New", NOW));
  const { childId } = done(await addChild(await grant(world.therapist, "child.add", familyId), { givenName: "Young", bornIn: "2014-02" }, NOW));
  expect((await childOf(await grant(world.lead, "child.read", childId))).familyName).toBe("New");
  expect(database().select({ act: auditEntries.act, object: auditEntries.objectId }).from(auditEntries).all())
    .toEqual([{ act: "family.added", object: familyId }, { act: "child.added", object: childId }, { act: "child.opened", object: childId }]);
});

it("adds once however often the same form arrives", async () => {
  const once = "00000000-0000-4000-8000-000000000001";
  const first = done(await addFamily(await grant(world.lead, "families.add", null, once), "New", NOW));
  const again = done(await addFamily(await grant(world.lead, "families.add", null, once), "New", NOW + 5));
  expect(again).toEqual(first);
  expect((await familiesOf(await grant(world.lead, "families.read", null))).families.filter((family) => family.name === "New")).toHaveLength(1);
});

it("lists every child of the practice with its own standing, and never sent as such", async () => {
  const reading = await grant(world.therapist, "families.read", null);
  expect((await familiesOf(reading)).families.map((family) => family.children.map((child) => child.childId))).toEqual([["child-1", "child-2"], ["child-3"]]);
  const all = await standings(reading, ["family-a", "family-b"], NOW);
  expect(all.map((each) => [each.childId, each.overall])).toEqual([["child-1", "not-yet"], ["child-2", "not-yet"], ["child-3", "not-yet"]]);
  expect(await sentByChild(reading, ["child-1", "child-2", "child-3"])).toEqual([]);
});

it("shows a guardian the linked children and no list of families", async () => {
  expect((await familyOf(await grant(world.mother, "family.read", "family-a"))).children).toHaveLength(2);
  expect(await refused(grant(world.mother, "family.read", "family-b"))).toMatch(/404/);
  for (const ability of ["families.read", "families.add"] as const) {
    expect(await refused(grant(world.mother, ability, null))).toMatch(/404/);
    expect(await refused(grant(world.stranger, ability, null))).toMatch(/404/);
  }
  expect(await refused(grant(world.mother, "child.add", "family-a"))).toMatch(/404/);
  expect(await refused(grant(world.mother, "curve-record.write", "child-1"))).toMatch(/404/);
});

it("shows another practice's staff nothing", async () => {
  const reading = await grant(world.outsider, "families.read", null);
  expect(await familiesOf(reading)).toEqual({ families: [], found: 0, page: 1, pages: 1 });
  expect(await familiesOf(reading, { sought: "family", page: 1 })).toMatchObject({ families: [], found: 0 });
  expect([await standings(reading, ["family-a"], NOW), await sentByChild(reading, ["child-1"])]).toEqual([[], []]);
  expect(await refused(grant(world.outsider, "child.add", "family-a"))).toMatch(/404/);
  expect(await refused(grant(world.outsider, "child.read", "child-1"))).toMatch(/404/);
});

it("names who to call, of this child alone", async () => {
  expect((await carersOf(await grant(world.therapist, "curve-record.write", "child-1"), NOW)).map((carer) => carer.personId)).toEqual(["mother"]);
  expect((await carersOf(await grant(world.therapist, "curve-record.write", "child-3"), NOW)).map((carer) => carer.personId)).toEqual(["stranger"]);
});
