import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { eq } from "drizzle-orm";
import sharp from "sharp";
import { database } from "@/db/client";
import { answerPairs, answers } from "@/db/schema/answers";
import { mediaFiles, photoSets, photos } from "@/db/schema/photos";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { photoPoint } from "@/lib/domain/marks/geometry";
import type { Mark } from "@/lib/domain/marks/marks";
import { takeIn } from "@/lib/photos/intake";
import { historyOf } from "@/lib/records/answers-read";
import { decideConsent } from "@/lib/records/consents";
import { pictureOf } from "@/lib/records/media";
import { comparable } from "@/lib/records/pairs";
import { voidPhotoSet } from "@/lib/records/voiding";
import { photoWithGps, photoTurned6 } from "@/tests/photos/sources";
import { addPicture, addSet, answeringWorld, EXERCISE, HOUR, NOW, send, verdictsOf } from "@/tests/records/answering-scene";
import { codeOf, done, refused } from "@/tests/records/desk-scene";

const DAY = 24 * HOUR;
const RING: Mark = { id: "ring", kind: "ring", itemKey: "elbow-high", center: photoPoint(0.5, 0.5), radiusX: 0.2, radiusY: 0.2 };

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => {
  world = answeringWorld();
  addSet("march", { sentAt: NOW - 30 * DAY });
  addSet("april", { sentAt: NOW - HOUR });
});
afterEach(() => world.close());

const ofChild = async (childId = "child-1", who: Actor = world.therapist, now = NOW) => comparable(await grant(who, "answer.write", childId), EXERCISE, now);
const ids = (some: readonly { readonly photoId: string }[]) => some.map((photo) => photo.photoId);
const pair = (thenPhotoId: string, nowPhotoId: string) => ({ thenPhotoId, nowPhotoId });
const PAIR = pair("march-photo-1", "april-photo-1");
const pairsRead = async (who: Actor = world.mother) =>
  (await historyOf(await grant(who, "child.read", "child-1"), EXERCISE, NOW + 3 * HOUR)).flatMap((entry) => entry.answer?.pairs ?? []).map(ids);
const stored = () => database().select().from(answerPairs).all().length;

describe("photos that may stand beside each other", () => {
  it("are those of the child and exercise, newest first, with what was said of them", async () => {
    await addPicture("child-1", "march-photo-2", await sharp(photoWithGps()).resize(640, 480).jpeg().toBuffer());
    done(await send(world.therapist, "march", { marks: [{ photoId: "march-photo-2", marks: [RING] }] }, NOW - 29 * DAY));
    const found = await ofChild();
    expect(ids(found)).toEqual([1, 2, 3].flatMap((n) => [`april-photo-${n}`]).concat([1, 2, 3].map((n) => `march-photo-${n}`)));
    expect(found.map((photo) => photo.isAnswered)).toEqual([false, false, false, true, true, true]);
    expect(found.map((photo) => photo.marks)).toEqual([[], [], [], [], [RING], []]);
    expect(found[4]).toMatchObject({ view: "front", width: 640, height: 480, sentAt: NOW - 30 * DAY, takenAt: NOW - 30 * DAY - 60_000, at: NOW - 30 * DAY - 60_000, isTurnedBack: false });
  });

  it("say which of them were judged as a stop", async () => {
    database().update(photos).set({ sideCheck: "cannot-tell" }).run();
    done(await send(world.therapist, "march", { verdicts: verdictsOf("in-place", { "side-down": "fix" }), summary: "Stop. Turn over and lie on the left side." }, NOW - 29 * DAY));
    done(await send(world.therapist, "april", { verdicts: verdictsOf("in-place", { "elbow-high": "fix" }), pairs: [PAIR] }));
    expect((await ofChild()).map((photo) => photo.isStopped)).toEqual([false, false, false, true, true, true]);
    const [entry] = await historyOf(await grant(world.mother, "child.read", "child-1"), EXERCISE, NOW + HOUR);
    expect(entry?.answer?.pairs.map((both) => both.map((photo) => photo.isStopped))).toEqual([[true, false]]);
  });

  it("are dated by the day they were sent where no file proves more", async () => {
    addSet("remembered", { sentAt: NOW - 2 * HOUR, takenAt: NOW - 9 * DAY, source: "parent" });
    expect((await ofChild()).find((photo) => photo.photoId === "remembered-photo-1")).toMatchObject({ takenAt: null, at: NOW - 2 * HOUR });
  });

  it("show no marks of an answer that is not in force yet or was taken back", async () => {
    await addPicture("child-1", "march-photo-1", await sharp(photoWithGps()).resize(640, 480).jpeg().toBuffer());
    done(await send(world.therapist, "march", { marks: [{ photoId: "march-photo-1", marks: [RING] }] }, NOW - HOUR));
    const marked = async (now = NOW) => (await ofChild("child-1", world.therapist, now)).filter((photo) => photo.marks.length > 0 || photo.isAnswered).length;
    expect(await marked()).toBe(3);
    database().update(answers).set({ publishedAt: NOW + 30_000 }).run();
    expect(await marked()).toBe(0);
    expect(await marked(NOW + 30_000)).toBe(3);
    database().update(answers).set({ takenBackAt: NOW + 10_000 }).run();
    expect(await marked(NOW + 30_000)).toBe(0);
  });

  it("leave out what is unsent, void, removed or of another exercise, and all of it without consent", async () => {
    addSet("unsent");
    addSet("void");
    addSet("other");
    database().update(photoSets).set({ sentAt: null }).where(eq(photoSets.id, "unsent")).run();
    database().update(photoSets).set({ exerciseKey: "another" }).where(eq(photoSets.id, "other")).run();
    done(await voidPhotoSet(await grant(world.therapist, "answer.write", "child-1"), "void", NOW));
    database().update(photos).set({ removedAt: NOW }).where(eq(photos.id, "april-photo-2")).run();
    expect(ids(await ofChild())).toEqual(["april-photo-1", "april-photo-3", "march-photo-1", "march-photo-2", "march-photo-3"]);
    await withdraw();
    expect(await ofChild()).toEqual([]);
  });

  it("are nobody else's", async () => {
    expect(await ofChild("child-2")).toEqual([]);
    expect(await ofChild("child-3")).toEqual([]);
    expect(await refused(ofChild("child-1", world.mother))).toContain("404");
    expect(await refused(ofChild("child-1", world.outsider))).toContain("404");
  });
});

describe("a pair set beside an answer", () => {
  it("is read by the family in its time, and its pictures leave by the ordinary door", async () => {
    // Two real photos of phones, taken in as the app does.
    const bytes = { "march-photo-1": photoWithGps(), "april-photo-1": photoTurned6() };
    for (const [photoId, file] of Object.entries(bytes)) {
      const prepared = done(await takeIn(file));
      await addPicture("child-1", photoId, prepared.sizes[0].bytes);
    }
    done(await send(world.therapist, "april", { pairs: [pair("april-photo-2", "april-photo-3"), PAIR] }));
    expect(await pairsRead()).toEqual([["march-photo-1", "april-photo-1"], ["april-photo-2", "april-photo-3"]]);
    expect(await pairsRead(world.father)).toHaveLength(2);
    for (const photoId of Object.keys(bytes)) {
      const seen = await pictureOf(await grant(world.mother, "photo.view", "child-1"), photoId, "2048", NOW);
      expect((await sharp(await seen?.read()).metadata()).format).toBe("jpeg");
      expect(await pictureOf(await grant(world.mother, "photo.view", "child-2"), photoId, "2048", NOW)).toBeNull();
      expect(await refused(grant(world.stranger, "photo.view", "child-1"))).toContain("404");
    }
    expect(database().select({ familyId: mediaFiles.familyId }).from(mediaFiles).all().every((row) => row.familyId === "family-a")).toBe(true);
  });

  it("says of each photo whether marks are drawn in", async () => {
    await addPicture("child-1", "march-photo-1", await sharp(photoWithGps()).resize(640, 480).jpeg().toBuffer());
    done(await send(world.therapist, "march", { marks: [{ photoId: "march-photo-1", marks: [RING] }] }, NOW - 29 * DAY));
    done(await send(world.therapist, "april", { pairs: [PAIR] }));
    const [entry] = await historyOf(await grant(world.mother, "child.read", "child-1"), EXERCISE, NOW + HOUR);
    expect(entry?.answer?.pairs.map(([then, now]) => [then.marks.length, now.marks.length])).toEqual([[1, 0]]);
  });

  it.each([
    ["another child's photo", () => addSet("sibling", { childId: "child-2" }), pair("sibling-photo-1", "april-photo-1"), "pair-closed"],
    ["another family's photo", () => addSet("foreign", { childId: "child-3" }), pair("foreign-photo-1", "april-photo-1"), "pair-closed"],
    ["a photo of another exercise", () => {
      addSet("other", { sentAt: NOW - DAY });
      database().update(photoSets).set({ exerciseKey: "another" }).where(eq(photoSets.id, "other")).run();
    }, pair("other-photo-1", "april-photo-1"), "pair-closed"],
    ["a photo of a void set", async () => voidPhotoSet(await grant(world.therapist, "answer.write", "child-1"), "march", NOW - 1), PAIR, "pair-closed"],
    ["a removed photo", () => database().update(photos).set({ removedAt: NOW }).where(eq(photos.id, "march-photo-1")).run(), PAIR, "pair-closed"],
    ["a photo that is not sent", () => database().update(photoSets).set({ sentAt: null }).where(eq(photoSets.id, "march")).run(), PAIR, "pair-closed"],
    ["no photo at all", () => {}, pair("", "april-photo-1"), "pair-closed"],
    ["one photo with itself", () => {}, pair("april-photo-1", "april-photo-1"), "form-invalid"],
    ["the later photo called the earlier", () => {}, pair("april-photo-1", "march-photo-1"), "form-invalid"],
  ])("is refused with %s, and nothing of the answer is stored", async (_what, prepare, given, code) => {
    await prepare();
    const sent = await send(world.therapist, "april", { pairs: [pair("april-photo-2", "april-photo-3"), given] });
    expect([codeOf(sent), sent.ok ? null : sent.problem.field]).toEqual([code, "pair"]);
    expect([stored(), database().select().from(answers).all().length]).toEqual([0, 0]);
  });

  it("is refused twice over and past the fourth", async () => {
    expect(codeOf(await send(world.therapist, "april", { pairs: [PAIR, PAIR] }))).toBe("form-invalid");
    const five = [1, 2, 3].flatMap((then) => [1, 2].map((now) => pair(`march-photo-${then}`, `april-photo-${now}`))).slice(0, 5);
    expect(codeOf(await send(world.therapist, "april", { pairs: five }))).toBe("form-invalid");
    done(await send(world.therapist, "april", { pairs: five.slice(0, 4) }));
    expect(stored()).toBe(4);
  });

  it("is refused, and gone where it stood, once consent is withdrawn", async () => {
    done(await send(world.therapist, "april", { pairs: [PAIR] }));
    addSet("may", { sentAt: NOW + HOUR });
    await withdraw();
    expect(await pairsRead()).toEqual([]);
    expect(codeOf(await send(world.therapist, "may", { pairs: [PAIR] }, NOW + 2 * HOUR))).toBe("consent-withdrawn");
    expect(stored()).toBe(1);
  });

  it.each(["march", "april"])("is gone once the set of %s is void", async (set) => {
    addSet("may", { sentAt: NOW + HOUR });
    done(await send(world.therapist, "may", { pairs: [PAIR, pair("april-photo-2", "may-photo-2"), pair("march-photo-2", "may-photo-2")] }, NOW + 2 * HOUR));
    expect(await pairsRead()).toHaveLength(3);
    done(await voidPhotoSet(await grant(world.therapist, "answer.write", "child-1"), set, NOW + 3 * HOUR));
    expect(await pairsRead()).toEqual([[`${set === "march" ? "april" : "march"}-photo-2`, "may-photo-2"]]);
  });
});

const withdraw = async () => done(await decideConsent(await grant(world.mother, "consent.give", "child-1"), { purpose: "photos", decision: "withdrawn", standing: null, textVersion: "" }, NOW));
