import sharp from "sharp";
import { eq } from "drizzle-orm";
import { afterAll, afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { families } from "@/db/schema/care";
import { auditEntries } from "@/db/schema/machinery";
import { mediaFiles, photoDecisions, photos } from "@/db/schema/photos";
import { sideCards } from "@/db/schema/teaching";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { photoPoint } from "@/lib/domain/marks/geometry";
import { serialiseMarks } from "@/lib/domain/marks/marks";
import { isCardNumber } from "@/lib/domain/photo/card-number";
import { parseFinding } from "@/lib/domain/photo/side-card.schema";
import { closeDecoders } from "@/lib/photos/decoder-pool";
import { takeIn, turnPrepared } from "@/lib/photos/intake";
import type { PreparedPhoto } from "@/lib/photos/prepared";
import { deskOf } from "@/lib/records/answering";
import { historyOf } from "@/lib/records/answers-read";
import { saveDraft } from "@/lib/records/drafts";
import { pictureOf } from "@/lib/records/media";
import { confirmChild, settleMirror } from "@/lib/records/mirror";
import { addPhoto, replacePictures, unsentPicture, type StoredPhoto } from "@/lib/records/photo-sets";
import { queueOf } from "@/lib/records/queue";
import { sendPhotoSet } from "@/lib/records/sending";
import { makeSideCard, renewSideCard, sideCardOf } from "@/lib/records/side-cards";
import { asPhoto, numberFrom, placeCard, randomFrom } from "@/tests/photos/card-scene";
import { meanDifference, pixelsOf } from "@/tests/photos/pixels";
import { registryPhoto } from "@/tests/photos/sources";
import { answeringWorld, EXERCISE, NOW, send } from "@/tests/records/answering-scene";
import { codeOf, done } from "@/tests/records/desk-scene";

const SET = "11111111-1111-4111-8111-111111111111";
const NONE = { urgent: { noticed: [], isNone: true }, today: { noticed: [], isNone: true } } as const;

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => {
  world = answeringWorld();
});
afterEach(() => world.close());
afterAll(() => closeDecoders());

const cardOf = async (who: Actor, childId: string): Promise<string> => done(await makeSideCard(await grant(who, "side-card.print", childId), NOW)).number;

/** A real photo with a card standing in it, taken in as a family sends it. */
async function photographed(text: string | null, { mirrored = false, roll = 3 } = {}): Promise<PreparedPhoto> {
  const photo = await pixelsOf(registryPhoto("exif-parser/test/starfish.jpg"));
  const scene = text === null ? photo : await placeCard(photo, { text, modulePixels: 6, at: { x: 0.3, y: 0.6 }, roll, yaw: 5, pitch: 0, blur: 0.15, paper: 0.85, ink: 0.1 });
  return done(await takeIn(await asPhoto(scene, { quality: 90, mirrored })));
}

const sending = () => grant(world.mother, "photo-set.send", "child-1");
const stored = async (prepared: PreparedPhoto, setId = SET): Promise<StoredPhoto> =>
  done(await addPhoto(await sending(), { setId, exerciseKey: EXERCISE, ordinal: 1, view: "behind" }, prepared, NOW - 60_000, NOW));

/** From behind, floor down: a head on the picture's left means that the LEFT side is down, as the set-up wants. */
const sent = async (photoId: string, headAt: "left" | "right" = "left", setId = SET) => sendPhotoSet(await sending(), {
  setId, exerciseKey: EXERCISE, setupId: "setup-child-1", taken: null, symptoms: NONE, note: "",
  photos: [{ photoId, view: "behind", head: { x: headAt === "left" ? 0.1 : 0.9, y: 0.5 }, facing: "back" }],
}, NOW);

function row(): typeof photos.$inferSelect {
  const found = database().select().from(photos).get();
  if (!found) throw new Error("no photo");
  return found;
}
const picture = async (photoId: string, who = world.mother) => pixelsOf(await (await pictureOf(await grant(who, "photo.view", "child-1"), photoId, "1024", NOW))?.read() ?? Buffer.alloc(0));

describe("a side card", () => {
  it("is made once, by whoever may read the child, and a lost one is replaced by staff", async () => {
    expect(await sideCardOf(await grant(world.mother, "side-card.print", "child-1"))).toBeNull();
    const number = await cardOf(world.mother, "child-1");
    expect(isCardNumber(number)).toBe(true);
    expect(await cardOf(world.therapist, "child-1")).toBe(number);
    expect(await cardOf(world.mother, "child-2")).not.toBe(number);
    await expect(grant(world.stranger, "side-card.print", "child-1")).rejects.toThrow(/404/);
    await expect(grant(world.mother, "side-card.renew", "child-1")).rejects.toThrow(/404/);
    const next = done(await renewSideCard(await grant(world.therapist, "side-card.renew", "child-1"), NOW)).number;
    expect(next).not.toBe(number);
    expect((await sideCardOf(await grant(world.mother, "side-card.print", "child-1")))?.number).toBe(next);
    expect(database().select().from(auditEntries).where(eq(auditEntries.act, "side-card.renewed")).all()).toHaveLength(1);
  });
});

describe("a photo with this child's card", () => {
  it("turns `looks right` into `matches`, a retired card too, and `looks opposite` into `opposite`", async () => {
    const number = await cardOf(world.mother, "child-1");
    done(await renewSideCard(await grant(world.therapist, "side-card.renew", "child-1"), NOW));
    const photo = await stored(await photographed(number));
    expect(photo).toMatchObject({ isTurnedBack: false, isMirrorSettled: true, card: { found: "one", owner: "this-child", turnToUpright: 0 } });
    expect(JSON.stringify(photo)).not.toContain(number);
    expect(codeOf(await sent(photo.photoId, "right"))).toBe("side-opposite");
    done(await sent(photo.photoId));
    expect(row()).toMatchObject({ sideCheck: "matches", mirrorSettledBy: "card", isTurnedBack: false });
  });

  it("without a card nothing is settled", async () => {
    const photo = await stored(await photographed(null));
    expect(photo).toMatchObject({ isTurnedBack: false, isMirrorSettled: false, card: null });
    done(await sent(photo.photoId));
    expect(row()).toMatchObject({ sideCheck: "looks-right-not-proven", mirrorSettledBy: null });
  });

  // The two-error case: the wrong side down in a mirrored picture looks right, with the head where it should be.
  it("unmasks a child on the wrong side in a mirrored picture", async () => {
    const hidden = await stored(await photographed(null, { mirrored: true }));
    done(await sent(hidden.photoId, "left"));
    expect(row().sideCheck, "without a card").toBe("looks-right-not-proven");
    const OTHER = SET.replaceAll("1", "2");
    const unmasked = await stored(await photographed(await cardOf(world.mother, "child-1"), { mirrored: true }), OTHER);
    expect(unmasked).toMatchObject({ isTurnedBack: true, isMirrorSettled: true });
    // Turned back, the head lies at the picture's right: that is what the parent now sees and taps.
    expect(codeOf(await sent(unmasked.photoId, "right", OTHER))).toBe("side-opposite");
  });

  it("keeps what it says when the parent turns the picture", async () => {
    const prepared = await photographed(await cardOf(world.mother, "child-1"), { roll: 93 });
    const { photoId, card } = await stored(prepared);
    expect(card).toMatchObject({ turnToUpright: 270 });
    const largest = await unsentPicture(await sending(), photoId);
    const turned = done(await turnPrepared(largest ?? Buffer.alloc(0), { quarterTurns: 3, flopped: false }));
    expect(done(await replacePictures(await sending(), photoId, turned, 3, NOW)).card).toMatchObject({ turnToUpright: 0, owner: "this-child" });
    // Read again from the turned pixels, the code stands where the turned reading says.
    const again = done(await takeIn(turned.sizes[0].bytes)).card;
    const kept = parseFinding(row().cardReading);
    if (again?.found !== "one" || kept?.found !== "one") throw new Error("one card each");
    kept.reading.corners.forEach(({ x, y }, at) => {
      expect(x).toBeCloseTo(again.reading.corners[at]?.x ?? 0, 2);
      expect(y).toBeCloseTo(again.reading.corners[at]?.y ?? 0, 2);
    });
  });
});

describe("whose card it is", () => {
  it("another child's is flagged to both sides, linked to nobody, and holds the answer until a therapist looked", async () => {
    const number = await cardOf(world.stranger, "child-3");
    const photo = await stored(await photographed(number));
    expect(photo).toMatchObject({ isMirrorSettled: true, card: { owner: "other-child" } });
    expect(JSON.stringify(photo)).not.toMatch(/child-3|family-b|TS1/);
    done(await sent(photo.photoId));
    const queue = await queueOf(await grant(world.therapist, "queue.read", null), NOW);
    expect(queue.rows[0]).toMatchObject({ flags: expect.arrayContaining(["card-other-child"]) as unknown });
    const looking = await grant(world.therapist, "answer.write", "child-1");
    expect((await deskOf(looking, SET, NOW))?.set.photos[0]).toMatchObject({ needsEye: true, mirrorSettledBy: "card" });
    expect(codeOf(await send(world.therapist, SET))).toBe("card-other-child");
    done(await confirmChild(looking, { photoSetId: SET, photoId: photo.photoId }, NOW));
    done(await send(world.therapist, SET));
    expect(database().select().from(photoDecisions).all()).toMatchObject([{ decision: "right-child", decidedBy: "therapist" }]);
  });

  it("a number that nobody here has, or that another practice's child has, is unknown", async () => {
    const unknown = numberFrom(randomFrom(9));
    expect((await stored(await photographed(unknown))).card).toMatchObject({ owner: "unknown" });
    const number = await cardOf(world.stranger, "child-3");
    database().$client.pragma("foreign_keys = OFF");
    database().update(families).set({ practiceId: "elsewhere" }).where(eq(families.id, "family-b")).run();
    expect((await stored(await photographed(number))).card).toMatchObject({ owner: "unknown" });
  });
});

describe("settling by a member of staff", () => {
  const settle = async (photoId: string, wasMirrored: boolean, reason = "The clock on the wall runs backwards.") =>
    settleMirror(await grant(world.therapist, "mirror.settle", "child-1"), { photoSetId: SET, photoId, wasMirrored, reason }, NOW);

  it("flips what is stored, computes the side check anew, and is undone by saying the other", async () => {
    const { photoId } = await stored(await photographed(null));
    done(await sent(photoId));
    const [before, rowBefore] = [await picture(photoId), row()];
    expect(codeOf(await settle(photoId, true, " "))).toBe("reason-missing");
    done(await settle(photoId, true));
    expect(row()).toMatchObject({ isTurnedBack: true, mirrorSettledBy: "staff", sideCheck: "opposite", headX: 0.9, headY: 0.5 });
    const flipped = sharp(before.data, { raw: { width: before.width, height: before.height, channels: 3 } }).flop();
    expect(meanDifference(await picture(photoId), { ...before, data: await flipped.raw().toBuffer() })).toBeLessThan(4);
    expect(meanDifference(await picture(photoId), before)).toBeGreaterThan(10);
    expect(database().select().from(mediaFiles).where(eq(mediaFiles.photoId, photoId)).all()).toHaveLength(3);
    expect((await historyOf(await grant(world.mother, "child.read", "child-1"), EXERCISE, NOW))[0]?.pictures[0]).toMatchObject({ isTurnedBack: true });
    expect((await queueOf(await grant(world.therapist, "queue.read", null), NOW)).rows[0]).toMatchObject({ sideCheck: "opposite" });

    done(await settle(photoId, false, "It was a poster, printed in reverse."));
    expect(row()).toMatchObject({ isTurnedBack: false, mirrorSettledBy: "staff", sideCheck: "matches", hash: rowBefore.hash });
    expect(row().headX).toBeCloseTo(0.1, 12);
    expect(meanDifference(await picture(photoId), before)).toBeLessThan(4);
    expect(database().select().from(photoDecisions).all().map(({ decision }) => decision)).toEqual(["mirrored", "not-mirrored"]);
    expect(database().select().from(auditEntries).where(eq(auditEntries.act, "photo.mirror-settled")).all()).toHaveLength(2);
  });

  it("takes a card's corners along", async () => {
    const { photoId } = await stored(await photographed(await cardOf(world.mother, "child-1")));
    done(await sent(photoId));
    const before = parseFinding(row().cardReading);
    done(await settle(photoId, true));
    const after = parseFinding(row().cardReading);
    if (before?.found !== "one" || after?.found !== "one") throw new Error("one card each");
    expect(after.reading.corners[0].x).toBeCloseTo(1 - before.reading.corners[0].x, 9);
    expect(row().mirrorSettledBy).toBe("staff");
  });

  it("is refused over marks in anyone's draft, and once the set is answered", async () => {
    const { photoId } = await stored(await photographed(null));
    done(await sent(photoId));
    const mark = { id: "m", kind: "arrow" as const, itemKey: null, from: photoPoint(0.1, 0.1), to: photoPoint(0.4, 0.4) };
    const drafting = await grant(world.colleague, "answer.write", "child-1");
    done(await saveDraft(drafting, SET, { fields: { [`marks.${photoId}`]: serialiseMarks([mark]) }, version: 0 }, NOW));
    expect(codeOf(await settle(photoId, true))).toBe("draft-has-marks");
    done(await saveDraft(drafting, SET, { fields: { [`marks.${photoId}`]: serialiseMarks([]) }, version: 1 }, NOW));
    done(await settle(photoId, false));
    done(await send(world.therapist, SET));
    expect(codeOf(await settle(photoId, true))).toBe("answered-already");
    await expect(grant(world.mother, "mirror.settle", "child-1")).rejects.toThrow(/404/);
  });
});

it("keeps one current card a child even when the database is written past the records", async () => {
  await cardOf(world.mother, "child-1");
  const again = { id: "x", childId: "child-1", familyId: "family-a", number: numberFrom(randomFrom(3)), madeBy: "mother", madeAt: NOW };
  expect(() => database().insert(sideCards).values(again).run()).toThrow(/UNIQUE/);
});
