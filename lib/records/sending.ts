import "server-only";
import { and, asc, desc, eq, isNull } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { answers } from "@/db/schema/answers";
import { photoSets, photos } from "@/db/schema/photos";
import type { ChildGrant } from "@/lib/access/grant";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { isOppositeCheck, sideCheck, whyCannotTell, type Seen, type SideCheck } from "@/lib/domain/setup/side-check";
import type { View } from "@/lib/domain/setup/vocabulary";
import type { Side } from "@/lib/domain/sides";
import { instantOf, localDate } from "@/lib/domain/time/local";
import { act } from "@/lib/records/act";
import { endByNewPhoto } from "@/lib/records/back-questions";
import { own, type ChildRef } from "@/lib/records/child-facts";
import { inForce } from "@/lib/records/in-force";
import { readSending } from "@/lib/records/photo-sets";
import { insertSetReport, noticedIn, reportWithSet, type SymptomAnswers } from "@/lib/records/symptoms";
import { tellStaff } from "@/lib/records/tell-staff";

/** What the parent said of when the photo was taken, asked where the file does not prove it. */
export const TAKEN_ANSWERS = ["just-now", "earlier-today", "before"] as const;
export type TakenAnswer = (typeof TAKEN_ANSWERS)[number];

export type SentPhotoInput = {
  readonly photoId: string;
  readonly view: View;
  /** Fractions of the upright photo. */
  readonly head: { readonly x: number; readonly y: number } | null;
  readonly facing: "front" | "back" | "unsure" | null;
  /** Whether the head was tapped in a picture that the phone had turned back by its side card; absent when in the stored one. */
  readonly isSeenTurnedBack?: boolean | null;
};

export type SendInput = {
  readonly setId: string;
  readonly exerciseKey: string;
  /** The set-up that was on the screen. */
  readonly setupId: string;
  readonly photos: readonly SentPhotoInput[];
  readonly taken: TakenAnswer | null;
  /** How long ago the parent said all this: a set may wait on the phone for its connection. */
  readonly waitedMs?: number;
  readonly symptoms: SymptomAnswers;
  readonly note: string;
};

/** A camera clock may run a little ahead; further ahead than this it proves nothing. */
const CLOCK_AHEAD_MS = 5 * 60_000;

/**
 * Finishes a photo set: from now on it exists for the practice, and its clock runs. Side checks are
 * computed again here; an opposite one is refused. What was noticed opens a symptom stop in the same
 * act, and stands even when the photos are refused.
 */
export async function sendPhotoSet(
  grant: ChildGrant<"photo-set.send">,
  input: SendInput,
  now: number,
): Promise<Result<{ readonly photoSetId: string; readonly isStopped: boolean }>> {
  const noticed = noticedIn(input.symptoms);
  if (!noticed.ok) return noticed;
  const sent = act(grant, "photo-set.sent", now, (tx) => {
    const set = unsentSet(tx, grant, input);
    if (!set.ok) return set;
    const sending = readSending(grant, input.exerciseKey, now);
    if (!sending.ok) return sending;
    if (sending.value.setup.id !== input.setupId || set.value.setupId !== input.setupId) return refuse("record-changed");
    const checked = checkPhotos(tx, grant, input, sending.value.setup.resolution.setup.lieOn);
    if (!checked.ok) return checked;
    const times = timesOf(tx, grant, input, checked.value.map((photo) => photo.takenAt), now);
    if (!times.ok) return times;
    for (const photo of checked.value) {
      tx.update(photos).set({
        view: photo.view, headX: photo.head?.x ?? null, headY: photo.head?.y ?? null, facing: photo.facing, sideCheck: photo.check,
      }).where(and(own(photos, grant), eq(photos.id, photo.photoId))).run();
    }
    tx.update(photoSets).set({ ...times.value, note: input.note.trim(), sentAt: now })
      .where(and(own(photoSets, grant), eq(photoSets.id, input.setId))).run();
    endByNewPhoto(tx, grant, input.exerciseKey, { saidAt: now - (input.waitedMs ?? 0), takenAt: times.value.takenAt }, now);
    insertSetReport(tx, grant, input.setId, noticed.value, input.note, now);
    tellStaff(tx, grant.practiceId, "photo-set-sent", input.setId, now);
    return ok({ objectId: input.setId, value: { photoSetId: input.setId, isStopped: noticed.value.length > 0 } });
  });
  if (!sent.ok && noticed.value.length > 0) reportWithSet(grant, input.setId, noticed.value, input.note, now);
  return sent;
}

/** The set under this key, if it is this person's, this child's, and not finished. */
function unsentSet(tx: Transaction, grant: ChildGrant<"photo-set.send">, input: SendInput): Result<{ readonly setupId: string }> {
  const set = tx.select().from(photoSets).where(and(
    own(photoSets, grant), eq(photoSets.id, input.setId), eq(photoSets.sentBy, grant.actor.personId), eq(photoSets.exerciseKey, input.exerciseKey),
  )).get();
  if (!set) return refuse("photos-missing");
  return set.sentAt === null && set.voidedAt === null ? ok(set) : refuse("set-finished");
}

type CheckedPhoto = SentPhotoInput & { readonly check: SideCheck; readonly takenAt: number | null };

function checkPhotos(tx: Transaction, grant: ChildGrant<"photo-set.send">, input: SendInput, lieOn: Side): Result<readonly CheckedPhoto[]> {
  const stored = tx.select({ id: photos.id, takenAt: photos.takenAt, settledBy: photos.mirrorSettledBy, isTurnedBack: photos.isTurnedBack }).from(photos)
    .where(and(own(photos, grant), eq(photos.photoSetId, input.setId), isNull(photos.removedAt))).orderBy(asc(photos.ordinal)).all();
  const checked: CheckedPhoto[] = [];
  for (const row of stored) {
    const tapped = input.photos.find((photo) => photo.photoId === row.id);
    // What the parent did not look at is not sent.
    if (!tapped) return refuse("photos-missing");
    const said = asStored(tapped, row.isTurnedBack);
    // Nothing a family says or a file tells proves that a picture is not mirror-reversed; its side card does.
    const seen: Seen = { view: said.view, head: said.head, facing: said.facing, mirrored: row.settledBy === null ? "unknown" : "no" };
    const why = whyCannotTell(seen);
    if (why === "head-missing" || why === "view-and-facing-disagree" || (why === "facing-unsure" && said.facing === null)) {
      return refuse("side-check-missing", { field: said.photoId });
    }
    const check = sideCheck(seen, lieOn);
    if (isOppositeCheck(check)) return refuse("side-opposite", { field: said.photoId });
    checked.push({ ...said, check, takenAt: row.takenAt });
  }
  return checked.length > 0 && checked.length === input.photos.length ? ok(checked) : refuse("photos-missing");
}

/** Where phone and server read the side card differently, one saw the other's mirror image: the head stands on its other side. */
const asStored = (said: SentPhotoInput, isTurnedBack: boolean): SentPhotoInput =>
  (said.head && (said.isSeenTurnedBack ?? isTurnedBack) !== isTurnedBack ? { ...said, head: { x: 1 - said.head.x, y: said.head.y } } : said);

type Times = { readonly takenAt: number | null; readonly takenAtSource: "file" | "parent" | "unknown"; readonly isOld: boolean };

/**
 * When the set was taken: its oldest photo, by the file. Where a file says nothing, or says a time not
 * after the last answer, the parent is asked, and the set is marked: it lifts no stop.
 */
function timesOf(tx: Transaction, grant: ChildGrant<"photo-set.send">, input: SendInput, taken: readonly (number | null)[], now: number): Result<Times> {
  const known = taken.flatMap((at) => (at !== null && at <= now + CLOCK_AHEAD_MS ? [Math.min(at, now)] : []));
  const oldest = Math.min(...known);
  const isProven = known.length === taken.length && oldest > (readLastAnswer(tx, grant, input.exerciseKey, now) ?? -Infinity);
  if (isProven) return ok({ takenAt: oldest, takenAtSource: "file", isOld: false });
  if (input.taken === null) return refuse("taken-at-missing");
  // A file that is known to be older outweighs what is remembered.
  if (known.length === taken.length) return ok({ takenAt: oldest, takenAtSource: "file", isOld: true });
  if (input.taken === "before") return ok({ takenAt: null, takenAtSource: "unknown", isOld: true });
  const zone = grant.actor.timeZone;
  const saidAt = now - (input.waitedMs ?? 0);
  const at = input.taken === "just-now" ? saidAt : instantOf(localDate(saidAt, zone), 0, zone);
  return ok({ takenAt: at, takenAtSource: "parent", isOld: true });
}

function readLastAnswer(db: Transaction, ref: ChildRef, exerciseKey: string, now: number): number | null {
  return db.select({ at: answers.answeredAt }).from(answers).innerJoin(photoSets, eq(photoSets.id, answers.photoSetId))
    .where(and(own(answers, ref), eq(photoSets.exerciseKey, exerciseKey), inForce(now))).orderBy(desc(answers.answeredAt)).limit(1).get()?.at ?? null;
}

/** When this child and exercise were last answered, so that the phone knows when to ask about time. */
export async function lastAnswerAt(grant: ChildGrant<"photo-set.send">, exerciseKey: string, now: number): Promise<number | null> {
  return database().transaction((tx) => readLastAnswer(tx, grant, exerciseKey, now));
}
