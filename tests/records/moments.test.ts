import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from "vitest";
import { and, eq } from "drizzle-orm";
import sharp from "sharp";
import { database } from "@/db/client";
import { answers, answerSpans, drafts, marks } from "@/db/schema/answers";
import { clips } from "@/db/schema/clips";
import { auditEntries } from "@/db/schema/machinery";
import { mediaFiles, photoSets, photos } from "@/db/schema/photos";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { takeInClip } from "@/lib/clips/intake";
import type { PreparedClip } from "@/lib/clips/prepared";
import { photoPoint } from "@/lib/domain/marks/geometry";
import type { Mark } from "@/lib/domain/marks/marks";
import { closeDecoders } from "@/lib/photos/decoder-pool";
import { takeIn } from "@/lib/photos/intake";
import type { PreparedPhoto } from "@/lib/photos/prepared";
import { amendAnswer, answerAsDraft } from "@/lib/records/amendments";
import { deskOf } from "@/lib/records/answering";
import { entryOf } from "@/lib/records/answers-read";
import { addClip } from "@/lib/records/clips";
import { childArchive } from "@/lib/records/child-archive";
import { saveDraft } from "@/lib/records/drafts";
import { eraseNow } from "@/lib/records/erasures";
import { leftOvers } from "@/lib/records/left-overs";
import { mediaStore, pictureOf } from "@/lib/records/media";
import { settleMirror } from "@/lib/records/mirror";
import { mayTakeMoment, removeMoment, takeMoment } from "@/lib/records/moments";
import { newestAnswer } from "@/lib/records/newest-answer";
import { comparable } from "@/lib/records/pairs";
import { addPhoto } from "@/lib/records/photo-sets";
import { photosSetAside, releasePhoto, setPhotoAside } from "@/lib/records/quarantines";
import { queueOf } from "@/lib/records/queue";
import { retentionPlan } from "@/lib/records/retention";
import { takeBackAnswer } from "@/lib/records/take-back";
import { FILMS } from "@/tests/clips/films";
import { addPicture, addSet, answer, answeringWorld, decide, HOUR, NOW, send } from "@/tests/records/answering-scene";
import { codeOf, done } from "@/tests/records/desk-scene";

const FRAME = "set-photo-1";
const DAY = 24 * HOUR;
let film: PreparedClip, picture: PreparedPhoto, world: ReturnType<typeof answeringWorld>;
beforeAll(async () => {
  film = done(await takeInClip(FILMS.avc()));
  // As a browser draws a frame of the clip, which stands upright; and with what no picture may keep.
  const noise = await sharp({ create: { width: 240, height: 320, channels: 3, background: "grey", noise: { type: "gaussian", mean: 120, sigma: 40 } } })
    .withExif({ IFD0: { ImageDescription: "PLANTED-WORDS" } }).jpeg().toBuffer();
  expect(noise.includes("PLANTED-WORDS")).toBe(true);
  picture = done(await takeIn(noise));
});
afterAll(() => closeDecoders());
beforeEach(async () => {
  world = answeringWorld();
  addSet("set");
  database().update(photoSets).set({ sentAt: null }).where(eq(photoSets.id, "set")).run();
  done(await addClip(await grant(world.mother, "photo-set.send", "child-1", null), { uploadId: crypto.randomUUID(), photoId: FRAME }, film, NOW - HOUR));
  database().update(photoSets).set({ sentAt: NOW - HOUR }).where(eq(photoSets.id, "set")).run();
});
afterEach(() => world.close());

const answering = (who: Actor = world.therapist, once: string | null = null, childId = "child-1") => grant(who, "answer.write", childId, once);
const take = async (clipMs = 1200, { who = world.therapist, once = null as string | null, now = NOW, isTurnedBack = false, prepared = picture, photoId = FRAME } = {}) =>
  takeMoment(await answering(who, once), { photoId, clipMs, isTurnedBack }, prepared, now);
const desk = async () => (await deskOf(await answering(), "set", NOW))?.set;
const NOTE: Mark = { id: "n", kind: "note", itemKey: null, at: photoPoint(0.5, 0.5), text: "Here" };
const answered = async (photoId: string, change: Parameters<typeof send>[2] = {}, now = NOW) => done(await send(world.therapist, "set", { marks: [{ photoId, marks: [NOTE] }], ...change }, now));
const later = NOW + HOUR;
const history = async (who: Actor = world.mother, now = later) => entryOf(await grant(who, "child.read", "child-1"), "set", now);
const sees = async (who: Actor, photoId: string, kind: "2048" | "1024" | "320" | "marked" = "1024", now = later) => (await pictureOf(await grant(who, "photo.view", "child-1"), photoId, kind, now)) !== null;
const filesOnDisk = async (): Promise<readonly string[]> => {
  const found: string[] = [];
  for await (const { fileId } of mediaStore().list()) found.push(fileId);
  return found.toSorted();
};
const rows = () => database().select().from(photos).where(eq(photos.momentOf, FRAME)).all();

describe("a moment of a clip", () => {
  it("is kept with its time and who took it, clean, encrypted, in three sizes, and written down", async () => {
    const { photoId } = done(await take());
    expect((await desk())?.moments).toMatchObject([{ photoId, momentOf: FRAME, clipMs: 1200, by: "therapist", view: "behind", width: 240, height: 320, isTurnedBack: false, isHeld: false }]);
    expect(rows()).toMatchObject([{ ordinal: 5, sideCheck: null, mirrorSettledBy: null, headX: null, facing: null, takenAt: null, momentBy: "therapist" }]);
    const files = database().select().from(mediaFiles).where(eq(mediaFiles.photoId, photoId)).all();
    expect(files.map(({ kind }) => kind).toSorted()).toEqual(["1024", "2048", "320"]);
    for (const { fileId } of files) {
      const kept = await mediaStore().read(fileId);
      expect([kept.includes("PLANTED-WORDS"), (await sharp(kept).metadata()).exif]).toEqual([false, undefined]);
    }
    expect(database().select().from(auditEntries).where(eq(auditEntries.objectId, photoId)).all().map(({ actorId, act }) => `${actorId} ${act}`)).toEqual(["therapist moment.taken"]);
  });

  it("sent twice under one key is one, also when it was the last that fitted, and leaves no file behind", async () => {
    for (let at = 1; at <= 5; at += 1) done(await take(at * 100));
    const once = crypto.randomUUID();
    const sixth = done(await take(600, { once }));
    expect(done(await take(600, { once }))).toEqual(sixth);
    expect(rows().length).toBe(6);
    expect(await take(700)).toMatchObject({ problem: { code: "moments-full", values: { max: 6 } } });
    done(await removeMoment(await answering(), sixth.photoId, NOW));
    expect(codeOf(await take(700))).toBe("done");
    expect(await filesOnDisk()).toEqual(database().select().from(mediaFiles).all().map(({ fileId }) => fileId).toSorted());
  });

  it("is refused for what is no clip of this child that may be looked at, no time in it, another shape, or shown the other way round by now", async () => {
    const may = async (photoId: string, clipMs: number, isTurnedBack = false) => codeOf(await mayTakeMoment(await answering(), { photoId, clipMs, isTurnedBack }, NOW));
    expect([await may(FRAME, 0), await may(FRAME, film.durationMs), await may(FRAME, film.durationMs + 1)]).toEqual(["done", "done", "form-invalid"]);
    expect([await may("set-photo-2", 0), await may("nothing", 0), await may(FRAME, 0, true)]).toEqual(["clip-gone", "clip-gone", "stale-version"]);
    const wide = done(await takeIn(await sharp({ create: { width: 320, height: 240, channels: 3, background: "grey" } }).jpeg().toBuffer()));
    expect(codeOf(await take(0, { prepared: wide }))).toBe("moment-not-of-clip");
    // Of a clip that is shown on its side, such a picture is one.
    database().update(clips).set({ turns: 1 }).run();
    expect([codeOf(await take(0, { prepared: wide })), codeOf(await take(0))]).toEqual(["done", "moment-not-of-clip"]);
    done(await removeMoment(await answering(), rows()[0]?.id ?? "", NOW));
    database().update(clips).set({ turns: 0 }).run();
    const reading = { mirrored: true, number: "x", turnToUpright: 0, levelDegrees: 0 };
    expect(codeOf(await take(0, { prepared: { ...picture, card: { found: "one", reading } as PreparedPhoto["card"] } }))).toBe("moment-mirrored"); // the fields that are read
    decide("child-1", "family-a", "withdrawn", 2);
    expect([await may(FRAME, 0), codeOf(await take())]).toEqual(["clip-gone", "clip-gone"]);
    expect([rows(), (await filesOnDisk()).length]).toEqual([[], 1]);
  });

  it("nobody but the practice's staff takes or removes one, and another child's grant finds none", async () => {
    const { photoId } = done(await take());
    for (const who of [world.mother, world.father, world.stranger, world.outsider]) await expect(answering(who)).rejects.toThrow();
    const elsewhere = await answering(world.therapist, null, "child-3");
    expect(codeOf(await takeMoment(elsewhere, { photoId: FRAME, clipMs: 0, isTurnedBack: false }, picture, NOW))).toBe("clip-gone");
    expect(codeOf(await removeMoment(elsewhere, photoId, NOW))).toBe("moment-gone");
    // What a family sent is no moment.
    expect(codeOf(await removeMoment(await answering(), FRAME, NOW))).toBe("moment-gone");
    expect(codeOf(await removeMoment(await answering(world.colleague), photoId, NOW))).toBe("done");
  });
});

describe("a moment counts nowhere", () => {
  it("not in the queue, the set, the day's limit, the age of photos, or the pictures that may be the same", async () => {
    const before = await counts();
    done(await take());
    done(await take(1500));
    expect(await counts()).toEqual(before);
    expect(before).toMatchObject({ inQueue: 3, ofSet: 3, inHistory: 3, total: 3 });
  });

  async function counts() {
    const queue = await queueOf(await grant(world.therapist, "queue.read", null), NOW);
    const row = queue.rows.find((each) => "photoSetId" in each && each.photoSetId === "set") ?? queue.rows[0];
    const set = await desk();
    return {
      inQueue: row && "photos" in row ? row.photos : null, row, ofSet: set?.photos.length, rows: set?.rows, inHistory: (await history())?.pictures.length,
      total: (await retentionPlan(await grant(world.lead, "erasures.read", null), NOW)).total, waiting: queue.rows.length,
    };
  }

  it("not among the photos that a family may send in a day", async () => {
    for (let at = 0; at < 6; at += 1) done(await take(at * 100));
    database().update(photos).set({ storedAt: NOW }).run();
    const place = (at: number) => ({ setId: crypto.randomUUID(), exerciseKey: "side-lying", ordinal: 1 as const, view: (["behind", "front"] as const)[at % 2] ?? "behind" });
    const sent = [];
    for (let at = 0; at < 28; at += 1) sent.push(codeOf(await addPhoto(await grant(world.mother, "photo-set.send", "child-1", crypto.randomUUID()), place(at), picture, null, NOW)));
    // Three are there; 30 a day.
    expect(sent).toEqual([...Array.from({ length: 27 }, () => "done"), "photo-limit-day"]);
  });

  it("it settles no side: the photo's own check stays, and the photo is not turned while moments of its clip are there", async () => {
    await addPicture("child-1", FRAME, await sharp({ create: { width: 640, height: 480, channels: 3, background: "grey" } }).jpeg().toBuffer());
    const { photoId } = done(await take());
    const settle = async (of: string) => settleMirror(await grant(world.therapist, "mirror.settle", "child-1"), { photoSetId: "set", photoId: of, wasMirrored: true, reason: "The clock in it" }, NOW);
    expect([codeOf(await settle(photoId)), codeOf(await settle(FRAME))]).toEqual(["form-invalid", "moments-taken"]);
    done(await removeMoment(await answering(), photoId, NOW));
    expect(codeOf(await settle(FRAME))).toBe("done");
    expect(codeOf(await take(0, { isTurnedBack: true }))).toBe("done");
  });

  it("a set whose own photos are gone has none left, moments or not", async () => {
    done(await take());
    for (const id of ["set-photo-1", "set-photo-2", "set-photo-3"]) done(await eraseNow(await grant(world.lead, "erasure.settle", "child-1"), { kind: "photo", objectId: id }, NOW));
    expect([rows(), database().select().from(photoSets).get()?.voidReason, await filesOnDisk()]).toEqual([[], "erased", []]);
  });
});

describe("a marked moment", () => {
  it("goes to the family with the answer, by its time, and is seen by nobody there before or without one", async () => {
    const [{ photoId }, unmarked] = [done(await take()), done(await take(300))];
    expect([await sees(world.therapist, photoId), await sees(world.colleague, photoId), await sees(world.mother, photoId)]).toEqual([true, true, false]);
    const { publishedAt } = await answered(photoId);
    expect([await sees(world.mother, photoId, "1024", publishedAt - 1), await sees(world.mother, photoId, "marked", publishedAt - 1)]).toEqual([false, false]);
    expect((await history(world.mother, publishedAt - 1))?.moments).toEqual([]);
    for (const who of [world.mother, world.father]) expect([await sees(who, photoId), await sees(who, photoId, "marked"), await sees(who, unmarked.photoId)]).toEqual([true, true, false]);
    expect((await history())?.moments).toMatchObject([{ photoId, momentOf: FRAME, clipMs: 1200, by: "therapist", view: "behind" }]);
    expect((await history())?.pictures.map((each) => [each.photoId, each.isMarked])).toEqual([[FRAME, false], ["set-photo-2", false], ["set-photo-3", false]]);
    expect((await desk())?.moments.map(({ isHeld }) => isHeld)).toEqual([false, true]);
    // An amendment without it takes it out of the family's sight, and it stays with the version that showed it.
    const [first] = database().select().from(answers).all();
    done(await amendAnswer(await answering(), answer("set"), { basedOn: first?.id ?? "", reason: "Said better" }, later));
    expect([await sees(world.mother, photoId, "1024", later + HOUR), (await history(world.mother, later + HOUR))?.moments]).toEqual([false, []]);
    expect(codeOf(await removeMoment(await answering(), photoId, later))).toBe("moment-held");
  });

  it("is the picture of a fault where no photo is marked", async () => {
    const { photoId } = done(await take());
    const verdicts = answer("set").verdicts.map((each) => (each.itemKey === "head-neck" ? { ...each, verdict: "fix" as const } : each));
    await answered(photoId, { verdicts, nextStep: "new-photo" });
    expect((await newestAnswer(await grant(world.mother, "child.read", "child-1"), "side-lying", ["head-neck"], later)).picture).toMatchObject({ photoId, isMarked: true });
  });

  it("stays while an answer or anybody's draft holds it; an answer that is taken back lets it go", async () => {
    const { photoId } = done(await take());
    done(await saveDraft(await answering(world.colleague), "set", { fields: { [`marks.${photoId}`]: "drawn" }, version: 0 }, NOW));
    expect(codeOf(await removeMoment(await answering(), photoId, NOW))).toBe("moment-drawn-on");
    database().delete(drafts).run();
    const { answerId } = await answered(photoId);
    expect(codeOf(await removeMoment(await answering(), photoId, NOW))).toBe("moment-held");
    done(await takeBackAnswer(await answering(), answerId, NOW + 1000));
    database().delete(drafts).run();
    expect(codeOf(await removeMoment(await answering(), photoId, NOW + 2000))).toBe("done");
    expect([rows(), database().select().from(marks).all(), (await filesOnDisk()).length]).toEqual([[], [], 1]);
  });

  it("may stand in a pair, told apart by its time, and the pair opens it to the family", async () => {
    const { photoId } = done(await take());
    expect((await comparable(await answering(), "side-lying", NOW)).map((each) => [each.photoId, each.clipMs])).toEqual([[FRAME, null], ["set-photo-2", null], ["set-photo-3", null], [photoId, 1200]]);
    done(await send(world.therapist, "set", { pairs: [{ thenPhotoId: FRAME, nowPhotoId: photoId }] }));
    expect(await sees(world.mother, photoId)).toBe(true);
    expect((await history())?.answer?.pairs.map((pair) => pair.map((photo) => photo.clipMs))).toEqual([[null, 1200]]);
  });

  it("goes out of sight and comes back with its clip, is erased with it, and as a leftover when no answer came to hold it", async () => {
    const [{ photoId }, other] = [done(await take()), done(await take(300))];
    await answered(photoId);
    const aside = async () => (await photosSetAside(await grant(world.lead, "erasures.read", null))).map((each) => each.photoId);
    const settling = () => grant(world.lead, "erasure.settle", "child-1");
    done(await setPhotoAside(await grant(world.therapist, "photo.set-aside", "child-1"), other.photoId, NOW));
    expect([await aside(), (await desk())?.setAside]).toEqual([[other.photoId], 0]);
    done(await setPhotoAside(await grant(world.therapist, "photo.set-aside", "child-1"), FRAME, NOW + 1));
    for (const who of [world.mother, world.therapist, world.lead]) expect(await sees(who, photoId)).toBe(false);
    expect([await aside(), (await desk())?.setAside, codeOf(await releasePhoto(await settling(), photoId, NOW + 2))]).toEqual([[FRAME], 1, "not-there"]);
    // Whatever the lead waits for, none of it is swept away.
    expect(leftOvers(database(), NOW + 29 * DAY)).toEqual([]);
    done(await releasePhoto(await settling(), FRAME, NOW + 2));
    expect([await sees(world.mother, photoId), await sees(world.therapist, other.photoId), await aside()]).toEqual([true, false, [other.photoId]]);
    done(await releasePhoto(await settling(), other.photoId, NOW + 3));
    expect(leftOvers(database(), NOW + 31 * DAY)).toEqual([{ kind: "photo", id: other.photoId }]);
    done(await eraseNow(await settling(), { kind: "photo", objectId: FRAME }, NOW + 4));
    expect([rows(), database().select().from(marks).all(), await filesOnDisk()]).toEqual([[], [], []]);
    // Erasing one of them alone says nothing of the family's photos.
    expect(database().select().from(photoSets).get()?.photosErasedAt).toBe(NOW + 4);
  });

  it("stands in the archive at its time, with its marks; what no answer holds does not", async () => {
    const [{ photoId }, other] = [done(await take()), done(await take(300))];
    await answered(photoId, { spans: [{ photoId: FRAME, fromMs: 400, toMs: 1600 }] });
    const { record } = await childArchive(await grant(world.mother, "export.ask", "child-1"), later);
    const [set] = record.photoSets;
    const clip = set?.photos[0]?.clip;
    expect([set?.photos.length, clip?.moments.map(({ id, seconds, by }) => [id, seconds, by])]).toEqual([3, [[photoId, 1.2, "therapist"]]]);
    expect(clip?.moments[0]?.file).toMatchObject({ contentType: "image/jpeg" });
    expect(set?.answers[0]?.marked.map((each) => each.photoId)).toEqual([photoId]);
    expect(set?.answers[0]?.marks.map((each) => each.photoId)).toEqual([photoId]);
    expect(set?.answers[0]?.spans).toEqual([{ photoId: FRAME, fromSeconds: 0.4, toSeconds: 1.6 }]);
    expect(JSON.stringify(record)).not.toContain(other.photoId);
  });
});

describe("the part of a clip to repeat", () => {
  it("goes with the answer, into its amendment, and is refused where it is none", async () => {
    const span = { photoId: FRAME, fromMs: 400, toMs: 1600 };
    const refusedAs = async (change: Partial<typeof span>) => codeOf(await send(world.therapist, "set", { spans: [{ ...span, ...change }] }));
    expect([await refusedAs({ photoId: "set-photo-2" }), await refusedAs({ toMs: 599 }), await refusedAs({ toMs: film.durationMs + 1 }), await refusedAs({ fromMs: -1 })])
      .toEqual(["form-invalid", "form-invalid", "form-invalid", "form-invalid"]);
    expect(codeOf(await send(world.therapist, "set", { spans: [span, span] }))).toBe("form-invalid");
    const { answerId } = done(await send(world.therapist, "set", { spans: [span] }));
    expect((await history())?.answer?.spans).toEqual([span]);
    expect(await answerAsDraft(await answering(), answerId)).toMatchObject({ [`span.${FRAME}`]: "400-1600" });
    done(await eraseNow(await grant(world.lead, "erasure.settle", "child-1"), { kind: "photo", objectId: FRAME }, NOW));
    expect(database().select().from(answerSpans).where(and(eq(answerSpans.answerId, answerId))).all()).toEqual([]);
  });
});
