import { afterAll, afterEach, beforeEach, expect, it } from "vitest";
import { SidePart } from "@/app/desk/children/[childId]/sets/[photoSetId]/side-part";
import { database } from "@/db/client";
import { photos } from "@/db/schema/photos";
import { grant } from "@/lib/access/grant";
import { closeDecoders } from "@/lib/photos/decoder-pool";
import { takeIn } from "@/lib/photos/intake";
import { deskOf } from "@/lib/records/answering";
import { addPhoto, type DoneOnPhone } from "@/lib/records/photo-sets";
import { sendPhotoSet } from "@/lib/records/sending";
import { registryPhoto } from "@/tests/photos/sources";
import { answeringWorld, EXERCISE, NOW } from "@/tests/records/answering-scene";
import { done } from "@/tests/records/desk-scene";
import { markupOf } from "@/tests/records/markup";

const SET = "11111111-1111-4111-8111-111111111111";
const NONE = { urgent: { noticed: [], isNone: true }, today: { noticed: [], isNone: true } } as const;
const SAID = "A part of this picture was covered by the family.";

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => {
  world = answeringWorld();
});
afterEach(() => world.close());
afterAll(() => closeDecoders());

async function deskAfter(onPhone?: DoneOnPhone): Promise<string> {
  const sending = await grant(world.mother, "photo-set.send", "child-1");
  const prepared = done(await takeIn(registryPhoto("exif-parser/test/starfish.jpg")));
  const { photoId } = done(await addPhoto(sending, { setId: SET, exerciseKey: EXERCISE, ordinal: 1, view: "behind" }, prepared, NOW - 60_000, NOW, onPhone));
  done(await sendPhotoSet(sending, {
    setId: SET, exerciseKey: EXERCISE, setupId: "setup-child-1", taken: null, symptoms: NONE, note: "",
    photos: [{ photoId, view: "behind", head: { x: 0.1, y: 0.5 }, facing: "back" }],
  }, NOW));
  const desk = await deskOf(await grant(world.therapist, "answer.write", "child-1"), SET, NOW);
  if (!desk) throw new Error("no desk");
  return markupOf(SidePart({ desk, zone: "Europe/Vienna" }));
}

it("a covered photo says so to whoever answers it, and what it was on the phone is kept", async () => {
  expect(await deskAfter({ originalBytes: 4_200_000, isCovered: true })).toContain(SAID);
  expect(database().select().from(photos).get()).toMatchObject({ originalBytes: 4_200_000, isCovered: true });
});

it("a photo sent as it was says nothing of the kind", async () => {
  expect(await deskAfter()).not.toContain(SAID);
  expect(database().select().from(photos).get()).toMatchObject({ originalBytes: null, isCovered: false });
});
