import { readFileSync } from "node:fs";
import { grant } from "@/lib/access/grant";
import type { Actor } from "@/lib/access/actor";
import type { Fields } from "@/lib/domain/setup/exercise-fields";
import { exerciseInHand, keepExercise, saveExercise, startExercise } from "@/lib/records/exercise-writing";
import { takeIn } from "@/lib/photos/intake";
import type { PreparedPhoto } from "@/lib/photos/prepared";
import { addPhoto } from "@/lib/records/photo-sets";
import { sendPhotoSet } from "@/lib/records/sending";
import { confirmSetup, openPhase } from "@/lib/records/setups";
import { standingOf } from "@/lib/records/standing";
import { done, NOW } from "@/tests/records/desk-scene";

export const writing = (who: Actor) => grant(who, "exercise.write", null);

/** What a therapist makes of a copy of the shipped exercise: a title, a caution, and one item of their own in both rules. */
export const OWN: Fields = {
  title: "Long side with a towel", cautions: "Only after a lesson in person.\nNot on a full stomach.",
  "rule.rule-1.propKind": "folded-towel", "rule.rule-2.propKind": "folded-towel",
  "item.top-hip.title": "Top hip forward", "item.top-hip.phase": "position", "item.top-hip.evidence.still": "yes", "item.top-hip.view.behind": "yes",
  "item.top-hip.stop": "yes", "item.top-hip.sides": "yes", "rule.rule-1.item.top-hip": "yes", "rule.rule-2.item.top-hip": "yes",
};

/** Keeps a change of the draft in hand, as a button of the form would. */
export async function change(who: Actor, key: string, fields: Fields, now = NOW) {
  const inHand = await exerciseInHand(await writing(who), key);
  if (!inHand) throw new Error("nothing in hand");
  return keepExercise(await writing(who), key, { ...inHand, fields: { ...inHand.fields, ...fields } }, now);
}

/** Writes the exercise above and saves it as version 1. */
export async function written(who: Actor, now = NOW): Promise<string> {
  const { key } = done(await startExercise(await writing(who), { title: "Long side with a towel", from: "side-lying" }, now));
  const items = (await exerciseInHand(await writing(who), key))?.fields["items"] ?? "";
  const { draftVersion } = done(await change(who, key, { ...OWN, items: `${items} top-hip` }, now));
  done(await saveExercise(await writing(who), key, draftVersion, now));
  return key;
}

/** Confirms version 1 for child-1, who lies on the LEFT, and opens the position. */
export async function confirmFor(who: Actor, key: string, recordId: string): Promise<void> {
  done(await confirmSetup(await grant(who, "setup.confirm", "child-1"), {
    exerciseKey: key, exerciseVersion: 1, recordId, apexSpot: "two fingers above the hip bone", lieOn: "left",
  }, NOW));
  done(await openPhase(await grant(who, "phase.open", "child-1"), key, "position", NOW));
}

const NONE = { urgent: { noticed: [], isNone: true }, today: { noticed: [], isNone: true } } as const;

/** Taken in once: it is the same photo each time. */
let prepared: PreparedPhoto | null = null;

/** A family sends a real photo from a registry package, from three views. */
export async function sendFor(mother: Actor, key: string, setId: string, now: number): Promise<void> {
  const sending = await grant(mother, "photo-set.send", "child-1");
  prepared ??= done(await takeIn(readFileSync("node_modules/jpeg-exif/test/IMG_0001.JPG")));
  const photos = [];
  for (const [ordinal, view] of [[1, "behind"], [2, "front"], [3, "head-end"]] as const) {
    const added = done(await addPhoto(sending, { setId, exerciseKey: key, ordinal, view }, prepared, now - 60_000, now));
    // Head on the picture's left and the back to us, or the other way round from the front, floor down: the LEFT side is down.
    photos.push({ photoId: added.photoId, view, head: { x: view === "front" ? 0.9 : 0.1, y: 0.5 }, facing: view === "front" ? "front" as const : "back" as const });
  }
  const setupId = (await standingOf(await grant(mother, "child.read", "child-1"), key, now)).setup?.id ?? "";
  done(await sendPhotoSet(sending, { setId, exerciseKey: key, setupId, taken: null, symptoms: NONE, note: "", photos }, now));
}
