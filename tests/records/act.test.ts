import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { eq } from "drizzle-orm";
import { database, openDatabase } from "@/db/client";
import { careLinks } from "@/db/schema/care";
import { auditEntries } from "@/db/schema/machinery";
import { people } from "@/db/schema/practice";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { chainHash, FIRST_HASH } from "@/lib/audit/entry";
import { may, POLICY } from "@/lib/domain/policy/policy";
import { ok, refuse } from "@/lib/domain/result";
import { act } from "@/lib/records/act";
import { addFamilyOf, addPerson, makeWorld } from "@/tests/records/world";

let world: ReturnType<typeof makeWorld>;
let lead: Actor, therapist: Actor, mother: Actor, stepfather: Actor, stranger: Actor;

beforeEach(() => {
  world = makeWorld();
  lead = addPerson("lead", "lead");
  therapist = addPerson("therapist", "therapist");
  mother = addPerson("mother", "guardian");
  stepfather = addPerson("stepfather", "guardian");
  stranger = addPerson("stranger", "guardian");
  addFamilyOf("family-a", ["child-1", "child-2"], { mother: ["child-1", "child-2"], stepfather: ["child-1"] });
  addFamilyOf("family-b", ["child-3"], { stranger: ["child-3"] });
});
afterEach(() => world.close());

const refused = async (work: Promise<unknown>): Promise<string> =>
  work.then(() => "granted", (error: unknown) => (error instanceof Error ? error.message : "?"));

describe("who gets a grant", () => {
  it("gives a guardian the linked children and nobody else's", async () => {
    expect((await grant(mother, "child.read", "child-2")).childId).toBe("child-2");
    expect((await grant(stepfather, "child.read", "child-1")).familyId).toBe("family-a");
    for (const [who, child] of [[stepfather, "child-2"], [mother, "child-3"], [stranger, "child-1"], [mother, "no-such-child"]] as const) {
      expect(await refused(grant(who, "child.read", child))).toMatch(/404/);
    }
  });

  it("refuses the desk's abilities to families and the family's to the desk", async () => {
    expect(await refused(grant(mother, "answer.write", "child-1"))).toMatch(/404/);
    expect(await refused(grant(mother, "queue.read", null))).toMatch(/404/);
    expect(await refused(grant(therapist, "photo-set.send", "child-1"))).toMatch(/404/);
    expect(await refused(grant(therapist, "practice.settings", null))).toMatch(/404/);
    expect((await grant(lead, "practice.settings", null)).practiceId).toBe("practice");
  });

  it("ends with the care link", async () => {
    database().update(careLinks).set({ endedAt: 1 }).where(eq(careLinks.personId, "stepfather")).run();
    expect(await refused(grant(stepfather, "child.read", "child-1"))).toMatch(/404/);
  });

  it("knows no other practice's staff", async () => {
    const outsider = { ...therapist, practiceId: "elsewhere" };
    expect(await refused(grant(outsider, "child.read", "child-1"))).toMatch(/404/);
    expect(await refused(grant(outsider, "family.read", "family-a"))).toMatch(/404/);
  });

  it("says no to what the table does not name", () => {
    expect(may("lead", "everything")).toBe(false);
    expect(may("owner", "child.read")).toBe(false);
    expect(may("lead", "toString")).toBe(false);
    expect(Object.keys(POLICY).every((ability) => !may("", ability))).toBe(true);
  });
});

describe("an act", () => {
  const rename = (who: string, name: string) => (tx: Parameters<Parameters<typeof act>[3]>[0]) => {
    tx.update(people).set({ name }).where(eq(people.id, who)).run();
    return ok({ objectId: who, value: { name } });
  };
  const nameOf = (who: string) => database().select({ name: people.name }).from(people).where(eq(people.id, who)).get()?.name;
  const KEY = "00000000-0000-4000-8000-000000000001";

  it("happens once under one key, however often it is sent", async () => {
    const granted = await grant(lead, "staff.manage", null, KEY);
    const first = act(granted, "renamed", 5, rename("therapist", "Once"));
    database().update(people).set({ name: "Changed since" }).where(eq(people.id, "therapist")).run();
    const again = Array.from({ length: 50 }, () => act(granted, "renamed", 9, rename("therapist", "Twice")));
    expect(again.every((each) => JSON.stringify(each) === JSON.stringify(first))).toBe(true);
    expect(nameOf("therapist")).toBe("Changed since");
    expect(database().select().from(auditEntries).all()).toHaveLength(1);
  });

  it("refuses one key for two different acts", async () => {
    const granted = await grant(lead, "staff.manage", null, KEY);
    act(granted, "renamed", 5, rename("therapist", "One"));
    expect(act(granted, "removed", 6, rename("therapist", "Two"))).toEqual({ ok: false, problem: { code: "form-invalid" } });
  });

  it("leaves nothing behind when it is refused or fails", async () => {
    const granted = await grant(lead, "staff.manage", null);
    const result = act(granted, "renamed", 5, (tx) => {
      rename("therapist", "Half done")(tx);
      return refuse("stale-version");
    });
    expect(result).toEqual({ ok: false, problem: { code: "stale-version" } });
    expect(() => act(granted, "renamed", 5, (tx) => {
      rename("therapist", "Half done")(tx);
      throw new Error("the machine failed");
    })).toThrow("the machine failed");
    expect(nameOf("therapist")).toBe("therapist");
    expect(database().select().from(auditEntries).all()).toHaveLength(0);
  });

  it("writes an audit chain that no edit passes unnoticed and nobody can change", async () => {
    const granted = await grant(lead, "staff.manage", null);
    for (const name of ["A", "B", "C"]) act(granted, "renamed", 5, rename("therapist", name));
    const rows = database().select().from(auditEntries).all();
    let before = FIRST_HASH;
    for (const { sequence: _sequence, previousHash, hash, ...entry } of rows) {
      expect(previousHash).toBe(before);
      expect(hash).toBe(chainHash(before, entry));
      expect(chainHash(before, { ...entry, actorId: "somebody else" })).not.toBe(hash);
      before = hash;
    }
    expect(rows).toHaveLength(3);
    expect(() => database().update(auditEntries).set({ act: "other" }).run()).toThrow(/append-only/);
    expect(() => database().delete(auditEntries).run()).toThrow(/append-only/);
  });
});

describe("the database", () => {
  it("keeps its promises on every opening, and again on reopening", () => {
    const file = `${world.dir}/again.db`;
    for (let time = 0; time < 2; time += 1) {
      const { $client } = openDatabase(file);
      // SQLite documentation, pragma.html: 2 is FULL; a write-ahead log otherwise reopens as 1, NORMAL.
      const read = ["journal_mode", "synchronous", "foreign_keys", "busy_timeout", "secure_delete", "trusted_schema"]
        .map((name) => $client.pragma(name, { simple: true }));
      expect(read).toEqual(["wal", 2, 1, 5000, 1, 0]);
      $client.close();
    }
  });
});
