import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { database } from "@/db/client";
import { children, families } from "@/db/schema/care";
import { erasureRequests, quarantines, tombstones } from "@/db/schema/erasure";
import { auditEntries, notices } from "@/db/schema/machinery";
import { mediaFiles, photoSets, photos } from "@/db/schema/photos";
import { people } from "@/db/schema/practice";
import { voiceNotes } from "@/db/schema/voice";
import { answers } from "@/db/schema/answers";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { chainHash, FIRST_HASH } from "@/lib/audit/entry";
import { deskOf } from "@/lib/records/answering";
import { entryOf } from "@/lib/records/answers-read";
import { askErasure, carryOutErasures, eraseFamily, eraseNow, erasuresOf, keepFamily, takeBackErasure, waitingErasures } from "@/lib/records/erasures";
import { mediaStore, pictureOf } from "@/lib/records/media";
import { photosSetAside, releasePhoto, setPhotoAside } from "@/lib/records/quarantines";
import { queueOf } from "@/lib/records/queue";
import { addPicture, addSet, answeringWorld, decide, NOW, send } from "@/tests/records/answering-scene";

const DAY = 86_400_000;
let world: ReturnType<typeof answeringWorld>;
beforeEach(async () => {
  world = answeringWorld();
  addSet("set");
  for (const n of [1, 2, 3]) await addPicture("child-1", `set-photo-${n}`, Buffer.from("not looked at"));
});
afterEach(() => world.close());

const codeOf = (result: { readonly ok: true } | { readonly ok: false; readonly problem: { readonly code: string } }) => (result.ok ? "ok" : result.problem.code);
const ask = async (who: Actor, photo = "set-photo-1") => askErasure(await grant(who, "erasure.ask", "child-1"), { kind: "photo", objectId: photo }, NOW);
const settle = (childId = "child-1") => grant(world.lead, "erasure.settle", childId);
const photoIds = () => database().select({ id: photos.id }).from(photos).where(eq(photos.photoSetId, "set")).all().map(({ id }) => id);
const sees = async (who: Actor, photo = "set-photo-1") => (await pictureOf(await grant(who, "photo.view", "child-1"), photo, "2048", NOW)) !== null;
const later = () => carryOutErasures(database(), mediaStore(), NOW + 7 * DAY);

/** Every hash covers the one before and the entry's own values. */
function isChainWhole(): boolean {
  let previous = FIRST_HASH;
  return database().select().from(auditEntries).all().every(({ sequence: _sequence, previousHash, hash, ...entry }) => {
    const holds = previousHash === previous && hash === chainHash(previous, entry);
    previous = hash;
    return holds;
  });
}

describe("that it is done", () => {
  const told = () => database().select({ to: notices.personId }).from(notices).where(eq(notices.kind, "erasure-done")).all().map(({ to }) => to);

  test("is mailed to whoever asked, when it is done and not before, once; to nobody when it was taken back", async () => {
    expect(codeOf(await ask(world.mother))).toBe("ok");
    expect(codeOf(await ask(world.father, "set-photo-2"))).toBe("ok");
    const [, his] = await erasuresOf(await grant(world.father, "child.read", "child-1"));
    expect(codeOf(await takeBackErasure(await grant(world.father, "erasure.take-back", "child-1"), his?.requestId ?? "", NOW))).toBe("ok");
    expect(told()).toEqual([]);
    await later();
    await later();
    expect(told()).toHaveLength(1);
  });

  test("is mailed too when the lead does it sooner, and to nobody who is gone with it", async () => {
    expect(codeOf(await ask(world.mother))).toBe("ok");
    expect(codeOf(await eraseNow(await settle(), { kind: "photo", objectId: "set-photo-1" }, NOW))).toBe("ok");
    expect(told()).toEqual(["mother"]);
    const asking = await grant(world.stranger, "erasure.ask", "child-3");
    expect(codeOf(await askErasure(asking, { kind: "child", typedName: "child-3" }, NOW))).toBe("ok");
    await later();
    expect(told()).toEqual(["mother"]);
    expect(database().select({ id: people.id }).from(people).where(eq(people.id, "stranger")).all()).toEqual([]);
  });
});

describe("an erasure that a family asks for", () => {
  test("is told to every carer and the lead, can be taken back for seven days by whoever decides, and is then done", async () => {
    expect(codeOf(await ask(world.mother))).toBe("ok");
    expect(database().select({ kind: notices.kind, to: notices.personId }).from(notices).all().map(({ kind, to }) => `${kind} ${to}`).toSorted())
      .toEqual(["erasure-asked father", "erasure-asked lead", "erasure-asked mother"]);
    const [waiting] = await erasuresOf(await grant(world.father, "child.read", "child-1"));
    expect(waiting).toMatchObject({ kind: "photo", objectId: "set-photo-1", askedBy: "mother", dueAt: NOW + 7 * DAY });
    expect(await carryOutErasures(database(), mediaStore(), NOW + 7 * DAY - 1)).toBe(0);
    expect(codeOf(await takeBackErasure(await grant(world.father, "erasure.take-back", "child-1"), waiting?.requestId ?? "", NOW))).toBe("ok");
    expect([await later(), photoIds().length]).toEqual([0, 3]);
    expect(codeOf(await ask(world.mother))).toBe("ok");
    expect([await later(), photoIds()]).toEqual([1, ["set-photo-2", "set-photo-3"]]);
    expect(await later()).toBe(0);
    expect([isChainWhole(), await sees(world.mother)]).toEqual([true, false]);
  });

  test("asked twice stays at its first date", async () => {
    await ask(world.mother);
    expect(codeOf(await askErasure(await grant(world.father, "erasure.ask", "child-1"), { kind: "photo", objectId: "set-photo-1" }, NOW + DAY))).toBe("ok");
    expect(database().select({ dueAt: erasureRequests.dueAt, by: erasureRequests.askedBy }).from(erasureRequests).all()).toEqual([{ dueAt: NOW + 7 * DAY, by: "mother" }]);
  });

  test("of a whole child wants its name, and takes the requests and the people with it", async () => {
    const asked = async (typedName: string) => codeOf(await askErasure(await grant(world.mother, "erasure.ask", "child-1"), { kind: "child", typedName }, NOW));
    expect([await asked("child-2"), await asked(" CHILD-1 ")]).toEqual(["name-not-typed", "ok"]);
    await ask(world.father);
    await later();
    expect(database().select().from(children).where(eq(children.id, "child-1")).all()).toEqual([]);
    expect(database().select().from(erasureRequests).all()).toEqual([]);
    expect(database().select({ id: people.id }).from(people).where(eq(people.role, "guardian")).all().map(({ id }) => id).toSorted()).toEqual(["mother", "stranger"]);
    expect(isChainWhole()).toBe(true);
  });

  test("names nothing of another child, and nobody but who decides reaches it", async () => {
    addSet("theirs", { childId: "child-3" });
    expect(codeOf(await ask(world.mother, "theirs-photo-1"))).toBe("not-there");
    for (const who of [world.stranger, world.therapist, world.lead]) await expect(grant(who, "erasure.ask", "child-1")).rejects.toThrow();
    for (const who of [world.mother, world.therapist, world.colleague]) await expect(grant(who, "erasure.settle", "child-1")).rejects.toThrow();
    for (const who of [world.therapist, world.mother]) await expect(grant(who, "erasures.read", null)).rejects.toThrow();
    await ask(world.mother);
    const [waiting] = database().select().from(erasureRequests).all();
    expect(codeOf(await takeBackErasure(await grant(world.stranger, "erasure.take-back", "child-3"), waiting?.id ?? "", NOW))).toBe("stale-version");
  });
});

describe("the lead", () => {
  test("erases a photo, a spoken note and a child at once", async () => {
    const note = await mediaStore().put(Buffer.from("a voice"));
    database().insert(voiceNotes).values({ id: "note", childId: "child-1", familyId: "family-a", photoSetId: "set", container: "webm", durationMs: 1, recordedBy: "therapist", recordedAt: NOW }).run();
    database().insert(mediaFiles).values({ fileId: note.fileId, childId: "child-1", familyId: "family-a", voiceNoteId: "note", kind: "voice", byteLength: 7, sha256: note.sha256, keyId: note.keyId, storedAt: NOW }).run();
    expect(codeOf(await send(world.therapist, "set", { voiceNoteId: "note" }))).toBe("ok");
    expect(codeOf(await eraseNow(await settle(), { kind: "voice-note", objectId: "note" }, NOW))).toBe("ok");
    expect(database().select({ voice: answers.voiceNoteId }).from(answers).all()).toEqual([{ voice: null }]);
    await expect(mediaStore().read(note.fileId)).rejects.toThrow("missing");
    expect(codeOf(await eraseNow(await settle(), { kind: "photo", objectId: "set-photo-2" }, NOW))).toBe("ok");
    expect(codeOf(await eraseNow(await settle(), { kind: "photo", objectId: "set-photo-2" }, NOW))).toBe("not-there");
    expect(photoIds()).toEqual(["set-photo-1", "set-photo-3"]);
    expect(codeOf(await eraseNow(await settle(), { kind: "child", typedName: "child-1" }, NOW))).toBe("ok");
    expect([photoIds(), database().select().from(mediaFiles).all().length]).toEqual([[], 0]);
    expect(database().select({ kind: tombstones.kind }).from(tombstones).all().map(({ kind }) => kind).toSorted()).toEqual(["child", "photo", "voice-note"]);
    expect(isChainWhole()).toBe(true);
  });

  test("erases a family by its name, later or now, and stops what was asked", async () => {
    const family = () => grant(world.lead, "family.erase", "family-a");
    expect(codeOf(await eraseFamily(await family(), { typedName: "other", isNow: true }, NOW))).toBe("name-not-typed");
    expect(codeOf(await eraseFamily(await family(), { typedName: "family-a", isNow: false }, NOW))).toBe("ok");
    const [row] = await waitingErasures(await grant(world.lead, "erasures.read", null));
    expect(row).toMatchObject({ kind: "family", childId: null, familyName: "family-a" });
    expect(codeOf(await keepFamily(await family(), row?.requestId ?? "", NOW))).toBe("ok");
    expect(await later()).toBe(0);
    expect(codeOf(await eraseFamily(await family(), { typedName: "family-a", isNow: true }, NOW))).toBe("ok");
    expect(database().select({ id: families.id }).from(families).all()).toEqual([{ id: "family-b" }]);
  });
});

describe("a photo set aside", () => {
  const aside = async () => setPhotoAside(await grant(world.therapist, "photo.set-aside", "child-1"), "set-photo-1", NOW);

  test("is seen by nobody, and told to the lead, who sees that it is there", async () => {
    expect(codeOf(await aside())).toBe("ok");
    for (const who of [world.mother, world.father, world.therapist, world.colleague, world.lead]) expect([who.personId, await sees(who)]).toEqual([who.personId, false]);
    expect(await sees(world.mother, "set-photo-2")).toBe(true);
    const entry = await entryOf(await grant(world.mother, "child.read", "child-1"), "set", NOW);
    expect([entry?.pictures.map(({ photoId }) => photoId), entry?.setAside]).toEqual([["set-photo-2", "set-photo-3"], 1]);
    const desk = await deskOf(await grant(world.colleague, "answer.write", "child-1"), "set", NOW);
    expect([desk?.set.photos.length, desk?.set.setAside]).toEqual([2, 1]);
    expect(await photosSetAside(await grant(world.lead, "erasures.read", null))).toMatchObject([{ photoId: "set-photo-1", childName: "child-1", by: "therapist" }]);
    expect(database().select({ kind: notices.kind, to: notices.personId }).from(notices).all()).toEqual([{ kind: "photo-set-aside", to: "lead" }]);
    expect(codeOf(await aside())).toBe("not-there");
    expect(database().select({ act: auditEntries.act }).from(auditEntries).all().map(({ act }) => act)).toContain("photo.set-aside");
  });

  test("is released to everybody, or erased", async () => {
    await aside();
    expect(codeOf(await releasePhoto(await settle(), "set-photo-1", NOW))).toBe("ok");
    expect([await sees(world.mother), codeOf(await releasePhoto(await settle(), "set-photo-1", NOW))]).toEqual([true, "not-there"]);
    await aside();
    expect(codeOf(await eraseNow(await settle(), { kind: "photo", objectId: "set-photo-1" }, NOW))).toBe("ok");
    expect([database().select().from(quarantines).all().length, photoIds().length]).toEqual([0, 2]);
  });

  test("leaves a set without photos that cannot be judged, and stays in the queue until a new photo is asked for", async () => {
    for (const n of [1, 2, 3]) await setPhotoAside(await grant(world.therapist, "photo.set-aside", "child-1"), `set-photo-${n}`, NOW);
    expect(codeOf(await send(world.therapist, "set"))).toBe("photos-gone");
    expect((await queueOf(await grant(world.therapist, "queue.read", null), NOW)).rows.map(({ id }) => id)).toEqual(["set"]);
    // One of them erased: the others are only out of sight, and the set still counts.
    await eraseNow(await settle(), { kind: "photo", objectId: "set-photo-1" }, NOW);
    expect(database().select({ voidedAt: photoSets.voidedAt }).from(photoSets).get()).toEqual({ voidedAt: null });
  });

  test("is not for a family to set aside", async () => {
    await expect(grant(world.mother, "photo.set-aside", "child-1")).rejects.toThrow();
    await expect(grant(world.outsider, "photo.set-aside", "child-1")).rejects.toThrow();
  });
});

test("a withdrawn consent closes what waits: pictures, queue, answer and claim", async () => {
  decide("child-1", "family-a", "withdrawn", 2);
  expect(await sees(world.therapist)).toBe(false);
  expect((await queueOf(await grant(world.therapist, "queue.read", null), NOW)).rows).toEqual([]);
  expect(codeOf(await send(world.therapist, "set"))).toBe("consent-withdrawn");
  decide("child-1", "family-a", "given", 3);
  expect((await queueOf(await grant(world.therapist, "queue.read", null), NOW)).rows.map(({ id }) => id)).toEqual(["set"]);
});
