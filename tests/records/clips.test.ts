import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from "vitest";
import { eq } from "drizzle-orm";
import sharp from "sharp";
import { database } from "@/db/client";
import { clips } from "@/db/schema/clips";
import { erasedFiles } from "@/db/schema/erasure";
import { auditEntries } from "@/db/schema/machinery";
import { mediaFiles, photoSets, photos } from "@/db/schema/photos";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { takeInClip } from "@/lib/clips/intake";
import type { PreparedClip } from "@/lib/clips/prepared";
import { CLIP_LIMITS } from "@/lib/domain/clip/limits";
import { closeDecoders } from "@/lib/photos/decoder-pool";
import { turnPrepared } from "@/lib/photos/intake";
import { addClip, addPiece, clipOf, clipProgress, mayFilm, startClip } from "@/lib/records/clips";
import { eraseRows } from "@/lib/records/erasing";
import { leftOvers } from "@/lib/records/left-overs";
import { mediaStore } from "@/lib/records/media";
import { replacePictures } from "@/lib/records/photo-sets";
import { removePhoto } from "@/lib/records/taking-out";
import { releasePhoto, setPhotoAside } from "@/lib/records/quarantines";
import { voidPhotoSet } from "@/lib/records/voiding";
import { FILMS, lasting } from "@/tests/clips/films";
import { addSet, answeringWorld, decide, HOUR, NOW } from "@/tests/records/answering-scene";
import { codeOf, done } from "@/tests/records/desk-scene";
import { box, inMoov, toneMp4 } from "@/tests/voice/recordings";

let prepared: PreparedClip;
let world: ReturnType<typeof answeringWorld>;
beforeAll(async () => {
  prepared = done(await takeInClip(FILMS.avc()));
});
afterAll(() => closeDecoders());
beforeEach(() => {
  world = answeringWorld();
  addSet("set");
  addSet("set-b", { childId: "child-3" });
  unsend("set");
});
afterEach(() => world.close());

const FRAME = "set-photo-1";
const unsend = (id: string) => database().update(photoSets).set({ sentAt: null, takenAt: null }).where(eq(photoSets.id, id)).run();
const finish = () => database().update(photoSets).set({ sentAt: NOW }).where(eq(photoSets.id, "set")).run();
const sending = (who: Actor = world.mother, childId = "child-1") => grant(who, "photo-set.send", childId, null);
const newId = () => crypto.randomUUID();
const keep = async (uploadId = newId(), photoId = FRAME, clip = prepared) => addClip(await sending(), { uploadId, photoId }, clip, NOW);
const see = async (who: Actor, now = NOW, photoId = FRAME, childId = "child-1") => clipOf(await grant(who, "photo.view", childId), photoId, now);
const filesOnDisk = async (): Promise<string[]> => {
  const found: string[] = [];
  for await (const { fileId } of mediaStore().list()) found.push(fileId);
  return found;
};
const clipFiles = () => database().select().from(mediaFiles).where(eq(mediaFiles.kind, "clip")).all();

/** As a phone sends it, in pieces of so many bytes. */
async function sent(film: Buffer, { uploadId = newId(), size = 4000, now = NOW, takenAt = null }: { uploadId?: string; size?: number; now?: number; takenAt?: number | null } = {}) {
  const granted = await sending();
  const begun = await startClip(granted, { uploadId, photoId: FRAME, length: film.length, takenAt }, now);
  if (!begun.ok) return begun;
  let last: Awaited<ReturnType<typeof addPiece>> | null = null;
  for (let at = 0; at < film.length; at += size) {
    last = await addPiece(granted, uploadId, at, film.subarray(at, at + size), now);
    if (!last.ok) return last;
  }
  return last ?? begun;
}

describe("a clip in pieces", () => {
  it("waits for consent to a text that names clips, also while it is on its way", async () => {
    decide("child-1", "family-a", "given", 20, "1");
    expect(codeOf(await sent(FILMS.avc()))).toBe("clip-consent");
    expect(codeOf(await keep())).toBe("clip-consent");
    expect(await mayFilm(await sending(), NOW)).toBe(false);
    decide("child-1", "family-a", "given", 21);
    expect(await mayFilm(await sending(), NOW)).toBe(true);
    expect(codeOf(await keep())).toBe("done");
    decide("child-1", "family-a", "withdrawn", 22);
    expect(await mayFilm(await sending(), NOW)).toBe(false);
  });

  it("is kept once all of it is here, and is whole to its sender alone until the set is sent", async () => {
    const film = FILMS.avc();
    const uploadId = newId();
    expect(done(await sent(film, { uploadId }))).toEqual({ offset: film.length, length: film.length });
    expect(database().select().from(clips).all()).toMatchObject([
      { id: uploadId, photoId: FRAME, container: "mp4", codec: "avc", durationMs: 2000, width: 240, height: 320, takenAt: Date.UTC(2016, 2, 24, 10, 11, 12), receivedBytes: film.length, receivedSha256: prepared.sha256 },
    ]);
    const seen = await see(world.mother);
    expect(await seen?.read({ start: 0, end: seen.byteLength })).toEqual(prepared.bytes);
    for (const who of [world.father, world.therapist, world.lead]) expect(await see(who), who.personId).toBeNull();
    finish();
    for (const who of [world.mother, world.father, world.therapist, world.lead]) expect(await see(who), who.personId).not.toBeNull();
    await expect(see(world.stranger)).rejects.toThrow();
    await expect(see(world.outsider)).rejects.toThrow();
    expect(await see(world.stranger, NOW, FRAME, "child-3")).toBeNull();
  });

  it("goes on where it was, whatever was lost on the way, and is one clip", async () => {
    const film = FILMS.vp8();
    const uploadId = newId();
    const granted = await sending();
    const begin = () => startClip(granted, { uploadId, photoId: FRAME, length: film.length, takenAt: null }, NOW);
    const piece = (from: number, to: number) => addPiece(granted, uploadId, from, film.subarray(from, to), NOW);
    expect(await clipProgress(granted, uploadId, NOW)).toBeNull();
    done(await begin());
    expect(done(await piece(0, 9000))).toEqual({ offset: 9000, length: film.length });
    // The answer was lost: asked again, it says how much is here.
    expect(done(await begin())).toEqual({ offset: 9000, length: film.length });
    expect(await clipProgress(granted, uploadId, NOW)).toEqual({ offset: 9000, length: film.length });
    expect(done(await piece(0, 9000))).toBe("moved");
    expect(done(await piece(12_000, 13_000))).toBe("moved");
    expect(done(await addPiece(granted, uploadId, 9000, Buffer.alloc(film.length), NOW))).toBe("moved");
    expect(database().select().from(clips).all()).toEqual([]);
    done(await piece(9000, film.length));
    expect(await clipProgress(granted, uploadId, NOW)).toEqual({ offset: film.length, length: film.length });
    expect(done(await begin())).toEqual({ offset: film.length, length: film.length });
    expect(clipFiles().length).toBe(1);
    expect(await filesOnDisk()).toEqual(clipFiles().map(({ fileId }) => fileId));
    // Whatever is under way meanwhile: the second press of the very same clip.
    done(await keep(uploadId));
    expect(clipFiles().length).toBe(1);
    expect(await filesOnDisk()).toEqual(clipFiles().map(({ fileId }) => fileId));
  });

  it("is nobody else's to go on with or to look at", async () => {
    const uploadId = newId();
    done(await startClip(await sending(), { uploadId, photoId: FRAME, length: 10, takenAt: null }, NOW));
    const father = await sending(world.father);
    expect(await clipProgress(father, uploadId, NOW)).toBeNull();
    expect(codeOf(await addPiece(father, uploadId, 0, Buffer.alloc(10), NOW))).toBe("clip-photo-gone");
    expect(codeOf(await startClip(father, { uploadId, photoId: FRAME, length: 10, takenAt: null }, NOW))).toBe("clip-photo-gone");
    const stranger = await sending(world.stranger, "child-3");
    expect(await clipProgress(stranger, uploadId, NOW)).toBeNull();
    // Somebody else's id, once the clip is kept, is no id either.
    done(await keep(uploadId));
    unsend("set-b");
    expect(codeOf(await addClip(stranger, { uploadId, photoId: "set-b-photo-1" }, prepared, NOW))).toBe("form-invalid");
    expect(clipFiles().length).toBe(1);
  });

  it("a clip that is refused is gone as a whole, and nothing of it touches the disk", async () => {
    const locked = FILMS.avc();
    locked.write("encv", locked.indexOf("avc1\0\0"), "latin1");
    const tracks = inMoov(FILMS.avc(), ...Array.from({ length: 1000 }, () => box("trak", Buffer.alloc(0))));
    for (const [film, code] of [
      [Buffer.from("<!doctype html>".repeat(1000)), "clip-kind-refused"], [FILMS.avc().subarray(0, 9000), "clip-damaged"], [locked, "clip-encrypted"], [toneMp4(), "clip-no-film"],
      [tracks, "clip-many-tracks"], [await lasting("webm", 212, 0.1), "clip-too-long"],
    ] as const) {
      const uploadId = newId();
      expect(codeOf(await sent(film, { uploadId }))).toBe(code);
      expect(await clipProgress(await sending(), uploadId, NOW)).toBeNull();
    }
    expect([await filesOnDisk(), database().select().from(clips).all()]).toEqual([[], []]);
  });

  it("too large, nothing, without consent, for a photo that is sent or another's: refused before a byte is read", async () => {
    const start = async (photoId: string, length: number, who: Actor = world.mother) => codeOf(await startClip(await sending(who), { uploadId: newId(), photoId, length, takenAt: null }, NOW));
    expect(await start(FRAME, CLIP_LIMITS.maxBytes)).toBe("done");
    expect(await start(FRAME, CLIP_LIMITS.maxBytes + 1)).toBe("clip-too-big");
    expect(await start(FRAME, 0)).toBe("clip-empty");
    expect(await start("set-b-photo-1", 10)).toBe("clip-photo-gone");
    expect(await start(FRAME, 10, world.father)).toBe("clip-photo-gone");
    decide("child-1", "family-a", "withdrawn", 2);
    expect(await start(FRAME, 10)).toBe("consent-withdrawn");
    expect(codeOf(await keep())).toBe("consent-withdrawn");
    decide("child-1", "family-a", "given", 3);
    finish();
    expect(await start(FRAME, 10)).toBe("clip-photo-gone");
    expect(codeOf(await keep())).toBe("clip-photo-gone");
    expect(await filesOnDisk()).toEqual([]);
  });

  it("so many bytes are on their way at once and no more; one a person; what stands still makes room", async () => {
    // Four clips of 60 MB fit in what may be held, of four people; the fifth waits until a quarter of an hour has passed.
    const later = NOW + HOUR;
    addSet("set-2", { childId: "child-2" });
    const granted = await sending();
    const begin = (personId: string, at: number) => startClip({ ...granted, actor: { ...granted.actor, personId } }, { uploadId: newId(), photoId: `${personId}-photo-1`, length: 60_000_000, takenAt: null }, at);
    for (const personId of ["mother", "father", "therapist", "lead", "colleague"]) {
      addSet(personId);
      database().update(photoSets).set({ sentAt: null, sentBy: personId }).where(eq(photoSets.id, personId)).run();
    }
    for (const personId of ["mother", "father", "therapist", "lead"]) expect(codeOf(await begin(personId, later)), personId).toBe("done");
    expect(await begin("colleague", later)).toMatchObject({ problem: { code: "clip-queue-full", values: { seconds: 30 } } });
    // One's own earlier one gives way.
    expect(codeOf(await begin("mother", later))).toBe("done");
    expect(codeOf(await begin("colleague", later + 16 * 60_000))).toBe("done");
  });
});

describe("a clip that is kept", () => {
  it("another one of the same photo takes its place, file and all", async () => {
    done(await keep());
    const second = done(await takeInClip(FILMS.hevc()));
    done(await keep(newId(), FRAME, second));
    expect(database().select().from(clips).all()).toMatchObject([{ codec: "hevc" }]);
    expect(await filesOnDisk()).toEqual(clipFiles().map(({ fileId }) => fileId));
    expect(clipFiles().length).toBe(1);
  });

  it("says when its photo was taken, where it knows", async () => {
    const takenAt = () => database().select({ at: photos.takenAt }).from(photos).where(eq(photos.id, FRAME)).get()?.at;
    database().update(photos).set({ takenAt: 7 }).where(eq(photos.id, FRAME)).run();
    done(await keep(newId(), FRAME, { ...prepared, takenAt: null }));
    expect(takenAt()).toBe(7);
    done(await keep());
    expect(takenAt()).toBe(Date.UTC(2016, 2, 24, 10, 11, 12));
  });

  it("the time that its phone read before it took the file's own out counts as the file's, which comes first", async () => {
    const takenAt = () => database().select({ at: photos.takenAt }).from(photos).where(eq(photos.id, FRAME)).get()?.at;
    done(await sent(FILMS.vp9(), { takenAt: NOW - 60_000 }));
    expect(takenAt()).toBe(NOW - 60_000);
    done(await sent(FILMS.avc(), { takenAt: NOW - 60_000 }));
    expect(takenAt()).toBe(Date.UTC(2016, 2, 24, 10, 11, 12));
  });

  it("one that asks to be shown mirrored says so of its photo too", async () => {
    const isFlagged = () => database().select({ flag: photos.mirroredFlag }).from(photos).where(eq(photos.id, FRAME)).get()?.flag;
    done(await keep());
    expect(isFlagged()).toBe(false);
    done(await keep(newId(), FRAME, { ...prepared, mirroredFlag: true }));
    expect(isFlagged()).toBe(true);
  });

  it("closes with its photo: taken out, set aside, voided, without consent", async () => {
    done(await keep());
    finish();
    const isSeen = async () => (await see(world.therapist)) !== null && (await see(world.mother)) !== null;
    expect(await isSeen()).toBe(true);
    done(await setPhotoAside(await grant(world.therapist, "photo.set-aside", "child-1"), FRAME, NOW));
    for (const who of [world.mother, world.therapist, world.lead]) expect(await see(who)).toBeNull();
    done(await releasePhoto(await grant(world.lead, "erasure.settle", "child-1"), FRAME, NOW));
    expect(await isSeen()).toBe(true);
    decide("child-1", "family-a", "withdrawn", 2);
    for (const who of [world.mother, world.therapist, world.lead]) expect(await see(who)).toBeNull();
    decide("child-1", "family-a", "given", 3);
    expect(await isSeen()).toBe(true);
    done(await voidPhotoSet(await grant(world.therapist, "answer.write", "child-1"), "set", NOW));
    for (const who of [world.mother, world.therapist, world.lead]) expect(await see(who)).toBeNull();
  });

  it("is shown turned as its photo was on the phone, and turns on with it, the other way where the picture is turned back", async () => {
    const turned = done(await turnPrepared(await sharp({ create: { width: 640, height: 480, channels: 3, background: "grey" } }).jpeg().toBuffer(), { quarterTurns: 1, flopped: false }));
    const turn = async (quarters: 1 | 2 | 3) => {
      done(await replacePictures(await grant(world.mother, "photo-set.send", "child-1", crypto.randomUUID()), FRAME, turned, quarters, NOW));
      return database().select({ turns: clips.turns }).from(clips).get()?.turns;
    };
    done(await addClip(await sending(), { uploadId: newId(), photoId: FRAME, turns: 3 }, prepared, NOW));
    expect([await turn(2), await turn(3)]).toEqual([1, 0]);
    database().update(photos).set({ isTurnedBack: true }).where(eq(photos.id, FRAME)).run();
    expect([await turn(1), await turn(2)]).toEqual([3, 1]);
  });

  it("goes with its photo, row and file, when that is erased", async () => {
    done(await keep());
    const [file] = clipFiles();
    database().transaction((tx) => eraseRows(tx, [{ kind: "photo", id: FRAME, erasedAt: NOW }]), { behavior: "immediate" });
    expect([database().select().from(clips).all(), clipFiles()]).toEqual([[], []]);
    expect(database().select().from(erasedFiles).all()).toEqual([{ fileId: file?.fileId }]);
  });

  it("goes at once with a photo that is taken out before it is sent, whose empty row goes a day later", async () => {
    done(await keep());
    const [file] = clipFiles();
    done(await removePhoto(await sending(), FRAME, NOW));
    expect(await see(world.mother)).toBeNull();
    expect([database().select().from(clips).all(), clipFiles(), database().select().from(erasedFiles).all()]).toEqual([[], [], []]);
    await expect(mediaStore().read(file?.fileId ?? "")).rejects.toThrow();
    expect(leftOvers(database(), NOW + 25 * HOUR)).toContainEqual({ kind: "photo", id: FRAME });
  });

  it("a member of staff's view is written down once, whatever ranges the player asks for; a family's is not", async () => {
    const uploadId = newId();
    done(await keep(uploadId));
    finish();
    const acts = () => database().select().from(auditEntries).where(eq(auditEntries.objectId, uploadId)).all().map(({ actorId, act }) => `${actorId} ${act}`);
    for (const who of [world.mother, world.therapist, world.therapist, world.lead]) await see(who);
    expect(acts()).toEqual(["mother clip.added", "therapist clip.viewed", "lead clip.viewed"]);
    await see(world.therapist, NOW + HOUR);
    expect(acts().length).toBe(4);
  });
});
