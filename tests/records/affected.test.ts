import { spawnSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { dataDir, database, openToRead } from "@/db/client";
import { careLinks } from "@/db/schema/care";
import { auditEntries } from "@/db/schema/machinery";
import { sessions } from "@/db/schema/sign-in";
import { grant } from "@/lib/access/grant";
import { affectedBy, type Suspect } from "@/lib/audit/affected";
import { affectedInWords } from "@/lib/cli/affected-said";
import { pictureOf } from "@/lib/records/media";
import { root } from "@/tests/contract/sources";
import { addPicture, addSet, answeringWorld, NOW, send } from "@/tests/records/answering-scene";

// GDPR Art. 33(3)(a): a notification names, where possible, how many people and records are concerned.

let world: ReturnType<typeof answeringWorld>;
beforeEach(async () => {
  world = answeringWorld();
  addSet("set");
  addSet("other", { childId: "child-3" });
  await addPicture("child-3", "other-photo-1", Buffer.from("not looked at"));
});
afterEach(() => world.close());

const look = (suspect: Suspect, since = NOW - 1000) => {
  const client = openToRead(join(dataDir(), "trueside.db"));
  try {
    return affectedBy(client, suspect, since);
  } finally {
    client.close();
  }
};
const view = async (actor = world.colleague) => expect(await pictureOf(await grant(actor, "photo.view", "child-3"), "other-photo-1", "2048", NOW)).not.toBeNull();

test("an answer and an opened photo are touched, and everybody else is within a therapist's reach", async () => {
  expect((await send(world.therapist, "set")).ok).toBe(true);
  await view();
  // The answering desk was opened, and the answer sent.
  expect(look({ person: "therapist" }).touched).toEqual([{ familyId: "family-a", childId: "child-1", entries: 2, first: NOW, last: expect.any(Number) }]);
  expect(look({ person: "colleague" }).touched).toEqual([{ familyId: "family-b", childId: "child-3", entries: 1, first: NOW, last: NOW }]);
  expect(look({ person: "colleague" }).withinReach.map(({ childId }) => childId)).toEqual(["child-1", "child-2", "child-3"]);
});

test("a child whose pages were opened is touched, though nothing was done there", async () => {
  await grant(world.colleague, "child.read", "child-2");
  expect(look({ person: "colleague" }).touched).toMatchObject([{ familyId: "family-a", childId: "child-2", entries: 1 }]);
});

test("what was before the date does not count, and an address names its person", async () => {
  await view();
  expect(look({ person: "colleague" }, NOW + 1).touched).toEqual([]);
  expect(look({ person: " Colleague@people.example" }).touched).toHaveLength(1);
});

test("one browser's acts alone, and the browsers of a person to choose from", async () => {
  const session = { personId: "colleague", createdAt: NOW, lastSeenAt: NOW, endsAt: NOW + 1, provedAt: NOW } as const;
  database().insert(sessions).values([{ id: "one", tokenHash: "session-colleague", ...session }, { id: "two", tokenHash: "session-stolen", ...session }]).run();
  await view();
  await view({ ...world.colleague, sessionId: "session-stolen" });
  await view({ ...world.colleague, sessionId: "session-stolen" });
  expect(look({ sessionHash: "session-stolen" }).touched).toMatchObject([{ childId: "child-3", entries: 2 }]);
  expect(look({ person: "colleague" }).signIns).toEqual([
    { sessionHash: "session-colleague", entries: 1, first: NOW, last: NOW }, { sessionHash: "session-stolen", entries: 2, first: NOW, last: NOW },
  ]);
});

test("a carer reaches the linked children alone, one whose link ended meanwhile too", () => {
  expect(look({ person: "father" }).withinReach).toEqual([{ familyId: "family-a", childId: "child-1" }]);
  database().update(careLinks).set({ endedAt: NOW }).run();
  expect(look({ person: "father" }, NOW - 1).withinReach).toHaveLength(1);
  expect(look({ person: "father" }, NOW + 1).withinReach).toEqual([]);
});

test("an act about a whole family, or about what is erased, stands without a child", () => {
  const entry = { at: NOW, actorId: "therapist", role: "therapist", act: "family.added", outcome: "done", previousHash: "", hash: "" } as const;
  database().insert(auditEntries).values([{ ...entry, familyId: "family-a", objectId: "family-a" }, { ...entry, familyId: "gone", objectId: "gone-too" }, { ...entry, familyId: null, act: "cue.saved" }]).run();
  const { touched, otherActs } = look({ person: "therapist" });
  expect(touched.map(({ familyId, childId }) => [familyId, childId])).toEqual([["family-a", null], ["gone", null]]);
  expect(otherActs).toEqual([{ act: "cue.saved", entries: 1 }]);
});

test("nobody is nobody, and no line holds a name or an address", async () => {
  expect(affectedInWords(look({ person: "who" }))).toHaveLength(1);
  expect(look({ sessionHash: "none" }).personId).toBeNull();
  await view();
  const lines = affectedInWords(look({ person: "colleague@people.example" })).join("\n");
  expect(lines).toContain("child child-3");
  expect(lines).not.toContain("people.example");
});

test("the command says the same, and refuses what it cannot mean in one sentence", async () => {
  await view();
  const command = (...args: readonly string[]) => spawnSync(process.execPath, ["lib/cli/affected.mjs", ...args], { cwd: root, encoding: "utf8", env: { ...process.env, DATA_DIR: dataDir() } });
  for (const args of [["--person", "a", "--session", "b", "--since", "2026-03-04"], ["--person", "a", "--since", "2026-03-04T10:00"]]) {
    const { status, stdout, stderr } = command(...args);
    expect([status, stdout, stderr.trim().split("\n").length]).toEqual([1, "", 1]);
  }
  const asked = ["--person", "colleague@people.example", "--since", "2026-03-04"];
  // A folder without its first file is no practice.
  expect(command(...asked).stderr).toContain("holds no practice");
  writeFileSync(join(dataDir(), "kind"), "real\n");
  expect(command(...asked)).toMatchObject({ status: 0, stdout: `${affectedInWords(look({ person: "colleague" })).join("\n")}\n` });
  expect(command("--person", "who", "--since", "2026-03-04").status).toBe(1);
});
