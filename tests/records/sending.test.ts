import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { eq } from "drizzle-orm";
import { database } from "@/db/client";
import { consents, curveRecords, phaseOpenings, setups } from "@/db/schema/care";
import { answers, staffStops, verdicts } from "@/db/schema/answers";
import { notices } from "@/db/schema/machinery";
import { mediaFiles, photoSets, photos, symptomReports } from "@/db/schema/photos";
import { practices } from "@/db/schema/practice";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import type { CurveRecord } from "@/lib/domain/curve/record";
import { resolve } from "@/lib/domain/setup/resolve";
import { SIDE_LYING } from "@/lib/domain/setup/side-lying";
import { sidesKey } from "@/lib/domain/setup/setup-sides";
import { takeIn } from "@/lib/photos/intake";
import type { PreparedPhoto } from "@/lib/photos/prepared";
import { mediaStore, pictureOf } from "@/lib/records/media";
import { newestAnswer } from "@/lib/records/newest-answer";
import { addPhoto, maySend, photoSetsOf, replacePictures } from "@/lib/records/photo-sets";
import { answerReadBack, openReadBacks } from "@/lib/records/read-backs";
import { sendPhotoSet, type SendInput } from "@/lib/records/sending";
import { standingOf } from "@/lib/records/standing";
import { removePhoto, removeUnsentSet } from "@/lib/records/taking-out";
import { reportSymptoms } from "@/lib/records/symptoms";
import { addFamilyOf, addPerson, makeWorld } from "@/tests/records/world";

const NOW = Date.UTC(2026, 5, 10, 10);
const SET = "11111111-1111-4111-8111-111111111111";
const ONCE = "22222222-2222-4222-8222-222222222222";
const NONE = { urgent: { noticed: [], isNone: true }, today: { noticed: [], isNone: true } } as const;

let world: ReturnType<typeof makeWorld>;
let mother: Actor, father: Actor, stranger: Actor, prepared: PreparedPhoto;

/** Thoracic right, lumbar left: the built-in exercise lies on the LEFT (PRODUCT, section 3). */
const RECORD: CurveRecord = {
  assessedOn: "2026-05-01", source: "radiograph", filmViewedFrom: "behind",
  regions: {
    "proximal-thoracic": { state: "none" },
    thoracic: { state: "curve", convexSide: "right", apex: "T8", cobbDegrees: 24 },
    thoracolumbar: { state: "none" },
    lumbar: { state: "curve", convexSide: "left", apex: "L2", cobbDegrees: 20 },
  },
  prominence: { ribs: "right", lowBack: "left" }, reassessBy: null, therapistCounts: [],
};

function setUp(childId: string, familyId: string): void {
  const db = database();
  const resolution = resolve(SIDE_LYING, RECORD);
  if (resolution.coverage === "not-covered") throw new Error("the record must be covered");
  db.insert(curveRecords).values({ id: `record-${childId}`, childId, familyId, record: JSON.stringify(RECORD), patternKey: "p", recordedBy: "therapist", recordedAt: 0, sequence: 1 }).run();
  db.insert(setups).values({
    id: `setup-${childId}`, childId, familyId, exerciseKey: "side-lying", exerciseVersion: 1, curveRecordId: `record-${childId}`, kind: "rule",
    resolution: JSON.stringify(resolution), sidesKey: sidesKey(resolution.setup), confirmedBy: "therapist", confirmedAt: 0, sequence: 1,
  }).run();
  db.insert(phaseOpenings).values({ id: `phase-${childId}`, childId, familyId, exerciseKey: "side-lying", phase: "position", openedBy: "therapist", openedAt: 0 }).run();
}

const consent = (decision: "given" | "withdrawn", sequence: number) => database().insert(consents).values({
  id: `consent-${sequence}`, childId: "child-1", familyId: "family-a", personId: "mother", purpose: "photos", decision,
  textVersion: "2", textHash: "x", standing: "parent", decidedAt: sequence, sequence,
}).run();

beforeEach(async () => {
  world = makeWorld();
  addPerson("therapist", "therapist");
  mother = addPerson("mother", "guardian");
  father = addPerson("father", "guardian");
  stranger = addPerson("stranger", "guardian");
  addFamilyOf("family-a", ["child-1", "child-2"], { mother: ["child-1", "child-2"], father: ["child-1"] });
  addFamilyOf("family-b", ["child-3"], { stranger: ["child-3"] });
  setUp("child-1", "family-a");
  consent("given", 1);
  // A real photo from a registry package, with a date of 2014 in its own EXIF.
  const taken = await takeIn(readFileSync("node_modules/jpeg-exif/test/IMG_0001.JPG"));
  if (!taken.ok) throw new Error(taken.problem.code);
  prepared = taken.value;
});
afterEach(() => world.close());

const sendGrant = (once: string | null = null) => grant(mother, "photo-set.send", "child-1", once);
const standing = async () => standingOf(await grant(mother, "child.read", "child-1"), "side-lying", NOW + 1);

async function stored(takenAt: number | null = NOW - 60_000): Promise<string> {
  const added = await addPhoto(await sendGrant(), { setId: SET, exerciseKey: "side-lying", ordinal: 1, view: "behind" }, prepared, takenAt, NOW);
  if (!added.ok) throw new Error(added.problem.code);
  return added.value.photoId;
}

/** From behind with the head on the picture's left, floor down: the back faces us, so the LEFT side is down. */
const input = (photoId: string, changed: Partial<SendInput> = {}): SendInput => ({
  setId: SET, exerciseKey: "side-lying", setupId: "setup-child-1", taken: null, symptoms: NONE, note: "",
  photos: [{ photoId, view: "behind", head: { x: 0.1, y: 0.5 }, facing: "back" }], ...changed,
});
const code = (result: { readonly ok: boolean; readonly problem?: { readonly code: string } }) => result.problem?.code ?? "ok";

describe("a family's place for photos", () => {
  const limit = (familyMegabytes: number): void => void database().update(practices).set({ familyMegabytes }).run();
  const asked = async (childId: string, who = mother) => code(await maySend(await grant(who, "photo-set.send", childId), "side-lying", NOW));

  it("is refused before a photo is read once it is full, for every child of that family and no other, and whatever was sent is finished", async () => {
    const photoId = await stored();
    const kept = database().select().from(mediaFiles).all().reduce((sum, file) => sum + file.byteLength, 0);
    expect(kept).toBeGreaterThan(0);
    database().insert(mediaFiles).values({ fileId: "0".repeat(32), childId: "child-1", familyId: "family-a", photoId, kind: "marked", byteLength: 100e6 - kept - 1, sha256: "x", keyId: "x", storedAt: 0 }).run();
    limit(100);
    setUp("child-3", "family-b");
    database().insert(consents).values({ id: "consent-b", childId: "child-3", familyId: "family-b", personId: "stranger", purpose: "photos", decision: "given", textVersion: "2", textHash: "x", standing: "parent", decidedAt: 1, sequence: 1 }).run();
    expect([await asked("child-1"), await asked("child-1", father), await asked("child-3", stranger)]).toEqual(["ok", "ok", "ok"]);
    database().update(mediaFiles).set({ byteLength: 100e6 - kept }).where(eq(mediaFiles.kind, "marked")).run();
    expect([await asked("child-1"), await asked("child-1", father), await asked("child-3", stranger)]).toEqual(["family-storage", "family-storage", "ok"]);
    const again = await addPhoto(await sendGrant(), { setId: SET, exerciseKey: "side-lying", ordinal: 2, view: "front" }, prepared, null, NOW);
    expect(code(again)).toBe("family-storage");
    expect(code(await sendPhotoSet(await sendGrant(), input(photoId), NOW))).toBe("ok");
    limit(101);
    expect(await asked("child-1")).toBe("ok");
  });
});

describe("taking out what is not sent", () => {
  const files = () => database().select({ fileId: mediaFiles.fileId }).from(mediaFiles).all().map(({ fileId }) => fileId);
  const isOnDisk = (fileId: string) => mediaStore().read(fileId).then(() => true, () => false);
  const gone = async (fileIds: readonly string[]) => expect(await Promise.all(fileIds.map(isOnDisk))).toEqual(fileIds.map(() => false));

  it("erases a photo's pictures at once, once, and for its sender alone", async () => {
    const photoId = await stored();
    const kept = files();
    expect(kept).toHaveLength(3);
    expect(await Promise.all(kept.map(isOnDisk))).toEqual([true, true, true]);
    expect(code(await removePhoto(await grant(father, "photo-set.send", "child-1"), photoId, NOW))).toBe("set-finished");
    expect(code(await removePhoto(await grant(mother, "photo-set.send", "child-2"), photoId, NOW))).toBe("set-finished");
    expect(files()).toEqual(kept);
    expect(code(await removePhoto(await sendGrant(), photoId, NOW))).toBe("ok");
    await gone(kept);
    expect(files()).toEqual([]);
    expect(database().select().from(photos).get()).toMatchObject({ removedAt: NOW, placeholder: "", hash: "", cardReading: null, takenAt: null });
    expect(code(await removePhoto(await sendGrant(), photoId, NOW + 1))).toBe("ok");
    expect(database().select().from(photos).get()?.removedAt).toBe(NOW);
    // Another takes its place in the same set.
    const next = await stored();
    expect(code(await sendPhotoSet(await sendGrant(), input(next), NOW))).toBe("ok");
    expect(code(await removePhoto(await sendGrant(), next, NOW))).toBe("set-finished");
    expect(files()).toHaveLength(3);
  });

  it("erases whatever has arrived of a set, takes nothing more in, and lets a sent one be", async () => {
    await stored();
    const kept = files();
    const other = { setId: SET, exerciseKey: "side-lying", ordinal: 2, view: "behind" } as const;
    expect(code(await removeUnsentSet(await grant(father, "photo-set.send", "child-1"), SET, NOW))).toBe("ok");
    expect(files()).toEqual(kept);
    for (let times = 0; times < 2; times += 1) expect(code(await removeUnsentSet(await sendGrant(), SET, NOW))).toBe("ok");
    await gone(kept);
    // An upload that was on its way meanwhile, and a finish, come too late.
    expect(code(await addPhoto(await sendGrant(), other, prepared, null, NOW))).toBe("set-finished");
    expect(code(await sendPhotoSet(await sendGrant(), input("any"), NOW))).toBe("set-finished");
    expect(code(await removeUnsentSet(await sendGrant(), "33333333-3333-4333-8333-333333333333", NOW))).toBe("ok");
    expect(await photoSetsOf(await grant(mother, "child.read", "child-1"), "side-lying", NOW)).toEqual([]);
  });

  it("leaves a sent set as it is", async () => {
    const photoId = await stored();
    expect(code(await sendPhotoSet(await sendGrant(), input(photoId), NOW))).toBe("ok");
    expect(code(await removeUnsentSet(await sendGrant(), SET, NOW))).toBe("ok");
    expect(database().select().from(photoSets).get()).toMatchObject({ sentAt: NOW, voidedAt: null });
    expect(await Promise.all(files().map(isOnDisk))).toEqual([true, true, true]);
  });

  it("gives back none of the photos that a family may send in a day", async () => {
    expect(code(await removePhoto(await sendGrant(), await stored(), NOW))).toBe("ok");
    const [taken] = database().select().from(photos).all();
    if (!taken) throw new Error("its row stays for the day");
    // Twenty-nine more, taken out like it.
    for (let more = 0; more < 29; more += 1) database().insert(photos).values({ ...taken, id: `taken-${more}` }).run();
    expect(code(await addPhoto(await sendGrant(), { setId: SET, exerciseKey: "side-lying", ordinal: 1, view: "behind" }, prepared, null, NOW))).toBe("photo-limit-day");
  });
});

describe("sending a photo set", () => {
  it("sends once for fifty requests with one key, and tells the staff once", async () => {
    const photoId = await stored();
    const results = await Promise.all(Array.from({ length: 50 }, async () => sendPhotoSet(await sendGrant(ONCE), input(photoId), NOW)));
    expect(new Set(results.map((each) => JSON.stringify(each)))).toEqual(new Set([JSON.stringify({ ok: true, value: { photoSetId: SET, isStopped: false } })]));
    expect(await photoSetsOf(await grant(mother, "child.read", "child-1"), "side-lying", NOW)).toHaveLength(1);
    expect(database().select().from(notices).where(eq(notices.kind, "photo-set-sent")).all()).toHaveLength(1);
    expect(database().select().from(photoSets).get()).toMatchObject({ takenAtSource: "file", isOld: false, takenAt: NOW - 60_000 });
    expect(code(await sendPhotoSet(await sendGrant(), input(photoId), NOW))).toBe("set-finished");
  });

  it("refuses the opposite side on the server, and keeps what was noticed all the same", async () => {
    const photoId = await stored();
    const wrong = input(photoId, {
      photos: [{ photoId, view: "behind", head: { x: 0.9, y: 0.5 }, facing: "back" }],
      symptoms: { ...NONE, urgent: { noticed: ["leg-weak-or-numb"], isNone: false } },
    });
    expect(code(await sendPhotoSet(await sendGrant(), wrong, NOW))).toBe("side-opposite");
    expect(code(await sendPhotoSet(await sendGrant(), wrong, NOW))).toBe("side-opposite");
    expect(database().select().from(photoSets).get()?.sentAt).toBeNull();
    expect(database().select().from(symptomReports).all()).toHaveLength(1);
    expect((await standing()).overall).toBe("stop");
  });

  it("asks for what is missing", async () => {
    const photoId = await stored(null);
    const without = { urgent: { noticed: [], isNone: false }, today: NONE.today };
    expect(code(await sendPhotoSet(await sendGrant(), input(photoId, { symptoms: without }), NOW))).toBe("symptoms-unanswered");
    expect(code(await sendPhotoSet(await sendGrant(), input(photoId, { photos: [] }), NOW))).toBe("photos-missing");
    expect(code(await sendPhotoSet(await sendGrant(), input(photoId, { photos: [{ photoId, view: "behind", head: null, facing: "back" }] }), NOW))).toBe("side-check-missing");
    expect(code(await sendPhotoSet(await sendGrant(), input(photoId), NOW))).toBe("taken-at-missing");
    expect(code(await sendPhotoSet(await sendGrant(), input(photoId, { setupId: "other" }), NOW))).toBe("record-changed");
    expect(code(await sendPhotoSet(await sendGrant(), input(photoId, { taken: "just-now" }), NOW))).toBe("ok");
    expect(database().select().from(photoSets).get()).toMatchObject({ takenAtSource: "parent", isOld: true });
  });

  it("reads a head tapped in the phone's mirror image on its other side, and never where both saw the same", async () => {
    const photoId = await stored();
    const seen = (isSeenTurnedBack: boolean, x: number) => input(photoId, { photos: [{ photoId, view: "behind", head: { x, y: 0.5 }, facing: "back", isSeenTurnedBack }] });
    // Stored as it came, tapped in a picture turned back: the head stands on the other side of what is stored.
    expect(code(await sendPhotoSet(await sendGrant(), seen(true, 0.1), NOW))).toBe("side-opposite");
    expect(code(await sendPhotoSet(await sendGrant(), seen(false, 0.9), NOW))).toBe("side-opposite");
    expect(code(await sendPhotoSet(await sendGrant(), seen(true, 0.9), NOW))).toBe("ok");
    expect(database().select({ headX: photos.headX }).from(photos).get()?.headX).toBeCloseTo(0.1, 9);
  });

  it("counts back the time that a set waited on the phone", async () => {
    const photoId = await stored(null);
    expect(code(await sendPhotoSet(await sendGrant(), input(photoId, { taken: "just-now", waitedMs: 7_200_000 }), NOW))).toBe("ok");
    expect(database().select().from(photoSets).get()).toMatchObject({ takenAt: NOW - 7_200_000, takenAtSource: "parent", isOld: true, sentAt: NOW });
  });

  it("is closed before the first byte without consent, and to every other family and child", async () => {
    expect(code(await maySend(await sendGrant(), "side-lying", NOW))).toBe("ok");
    consent("withdrawn", 2);
    expect(code(await maySend(await sendGrant(), "side-lying", NOW))).toBe("consent-withdrawn");
    expect(code(await maySend(await grant(mother, "photo-set.send", "child-2"), "side-lying", NOW))).toBe("consent-missing");
    await expect(grant(stranger, "photo-set.send", "child-1")).rejects.toThrow(/404/);
    await expect(grant(mother, "photo-set.send", "child-9")).rejects.toThrow(/404/);
  });

  it("keeps no file without its row: sent again under one key, refused, or turned by hand", async () => {
    const place = { setId: SET, exerciseKey: "side-lying", ordinal: 1, view: "behind" } as const;
    const onDisk = async () => {
      const listed: string[] = [];
      for await (const { fileId } of mediaStore().list()) listed.push(fileId);
      return listed.sort();
    };
    const known = () => database().select({ fileId: mediaFiles.fileId }).from(mediaFiles).all().map(({ fileId }) => fileId).sort();
    const add = async () => addPhoto(await sendGrant(ONCE), place, prepared, NOW, NOW);
    const [first, again] = [await add(), await add()];
    expect(again).toEqual(first);
    expect(await onDisk()).toEqual(known());
    expect(known()).toHaveLength(3);
    const photoId = first.ok ? first.value.photoId : "";
    const before = known();
    expect(code(await replacePictures(await sendGrant(), photoId, prepared, 1, NOW))).toBe("ok");
    expect(await onDisk()).toEqual(known());
    expect(known().filter((fileId) => before.includes(fileId))).toEqual([]);
    expect(code(await sendPhotoSet(await sendGrant(), input(photoId), NOW))).toBe("ok");
    expect(code(await addPhoto(await sendGrant(), place, prepared, NOW, NOW))).toBe("set-finished");
    expect(code(await replacePictures(await sendGrant(), photoId, prepared, 1, NOW))).toBe("set-finished");
    expect(await onDisk()).toEqual(known());
    expect(known()).toHaveLength(3);
  });

  it("shows an unsent photo to its sender alone, byte for byte as kept", async () => {
    const photoId = await stored();
    const own = await pictureOf(await grant(mother, "photo.view", "child-1"), photoId, "1024", NOW);
    expect(createHash("sha256").update(await own?.read() ?? "").digest("hex")).toBe(own?.sha256);
    expect(await pictureOf(await grant(father, "photo.view", "child-1"), photoId, "1024", NOW)).toBeNull();
    expect(await pictureOf(await grant(mother, "photo.view", "child-2"), photoId, "1024", NOW)).toBeNull();
  });
});

describe("symptoms", () => {
  it("stops every exercise at once, tells staff, and no verdict on a photo clears it", async () => {
    const reported = await reportSymptoms(await grant(mother, "symptom.report", "child-1"), { noticed: ["chest-breath-faint"], note: "", photoSetId: null }, NOW);
    expect(reported).toMatchObject({ ok: true, value: { tier: "urgent" } });
    expect((await standing()).overall).toBe("stop");
    const photoId = await stored();
    expect(code(await sendPhotoSet(await sendGrant(), input(photoId), NOW))).toBe("ok");
    judge("in-place", NOW + 1);
    expect((await standing()).current.goAhead.reasons[0]?.code).toBe("symptom-urgent");
    expect(database().select().from(notices).where(eq(notices.kind, "symptom-urgent")).all()).toHaveLength(1);
    expect(code(await reportSymptoms(await grant(mother, "symptom.report", "child-1"), { noticed: [], note: "", photoSetId: null }, NOW))).toBe("symptoms-unanswered");
  });
});

function judge(verdict: "in-place" | "fix", at: number): void {
  const db = database();
  const key = db.select({ key: setups.sidesKey }).from(setups).get()?.key ?? "";
  db.insert(answers).values({
    id: "answer", childId: "child-1", familyId: "family-a", photoSetId: SET, kind: "answer", summary: "s", nextStep: "keep-going", answeredBy: "therapist", answeredAt: at, publishedAt: at,
  }).run();
  db.insert(verdicts).values({
    childId: "child-1", familyId: "family-a", answerId: "answer", exerciseKey: "side-lying", itemKey: "side-down", isStop: true, verdict,
    sidesKey: key, evidenceAt: NOW, judgedBy: "therapist", judgedAt: at,
  }).run();
}

describe("read-backs", () => {
  it("asks each guardian the side, tells staff of a wrong answer, and asks on", async () => {
    await sendPhotoSet(await sendGrant(), input(await stored()), NOW);
    judge("fix", NOW + 1);
    const [asked] = (await openReadBacks(await grant(mother, "read-back.answer", "child-1"), NOW + 2)).asked;
    expect(asked).toEqual({ stopKind: "answer", stopId: "answer", exerciseKey: "side-lying", question: "side", wasWrong: false });
    const answer = async (who: Actor, choice: string) =>
      answerReadBack(await grant(who, "read-back.answer", "child-1"), { stopId: "answer", exerciseKey: "side-lying", question: "side", choice }, NOW + 2);
    expect(await answer(mother, "right")).toEqual({ ok: true, value: { isRight: false } });
    expect((await openReadBacks(await grant(mother, "read-back.answer", "child-1"), NOW + 2)).asked).toMatchObject([{ wasWrong: true }]);
    expect(database().select().from(notices).where(eq(notices.kind, "read-back-wrong")).all()).toHaveLength(1);
    expect(await answer(mother, "left")).toEqual({ ok: true, value: { isRight: true } });
    expect(await openReadBacks(await grant(mother, "read-back.answer", "child-1"), NOW + 2)).toEqual({ asked: [], isReadBack: true });
    expect((await openReadBacks(await grant(father, "read-back.answer", "child-1"), NOW + 2)).asked).toHaveLength(1);
  });

  it("asks of a stop without a photo whether the child may practise", async () => {
    database().insert(staffStops).values({ id: "stop", childId: "child-1", familyId: "family-a", exerciseKey: null, reason: "r", placedBy: "therapist", placedAt: 1 }).run();
    expect((await openReadBacks(await grant(mother, "read-back.answer", "child-1"), NOW + 2)).asked).toMatchObject([{ stopKind: "staff-stop", question: "practise" }]);
  });

  it("counts nothing of a set sent for the wrong child", async () => {
    await sendPhotoSet(await sendGrant(), input(await stored()), NOW);
    judge("fix", NOW + 1);
    expect((await standing()).overall).toBe("stop");
    database().update(photoSets).set({ voidedAt: NOW + 2, voidReason: "wrong-child" }).run();
    expect((await standing()).overall).not.toBe("stop");
    expect(await openReadBacks(await grant(mother, "read-back.answer", "child-1"), NOW + 2)).toEqual({ asked: [], isReadBack: false });
    const photoId = database().select({ id: photos.id }).from(photos).get()?.id ?? "";
    expect(await pictureOf(await grant(mother, "photo.view", "child-1"), photoId, "1024", NOW)).toBeNull();
    expect((await newestAnswer(await grant(mother, "child.read", "child-1"), "side-lying", ["side-down"], NOW)).picture).toBeNull();
  });
});
