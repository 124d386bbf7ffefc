import "server-only";
import { and, eq, isNotNull, isNull } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { answers, drafts } from "@/db/schema/answers";
import { clips } from "@/db/schema/clips";
import { photoSets, photos } from "@/db/schema/photos";
import type { ChildGrant } from "@/lib/access/grant";
import { isOfShape, MOMENT_PLACES, MOMENTS_LIMIT, shownSize } from "@/lib/domain/clip/moment";
import { serialiseFinding } from "@/lib/domain/photo/side-card.schema";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { isDiskLow } from "@/lib/media/space";
import type { PreparedPhoto } from "@/lib/photos/prepared";
import { act } from "@/lib/records/act";
import { own, readPhotoConsent } from "@/lib/records/child-facts";
import { eraseRows } from "@/lib/records/erasing";
import { insertPictures, storePictures } from "@/lib/records/kept-pictures";
import { eraseUnclaimed, mediaStore } from "@/lib/records/media";
import { isHeldBy, isMoment } from "@/lib/records/sent-photos";
import { cardSaid } from "@/lib/records/side-cards";
import { finishErasing } from "@/lib/records/tombstones";

/** Which clip a moment is of, by its photo, at which time, and which way round the clip was shown. */
export type MomentAt = { readonly photoId: string; readonly clipMs: number; readonly isTurnedBack: boolean };

/**
 * Asked before the first byte is read, and but for the room again inside the act. Refused: `clip-gone` when there is no such
 * clip that this person may look at now, `form-invalid` for a time that is not in it, `stale-version` when it is shown
 * the other way round by now, `moment-disk-full`.
 */
export async function mayTakeMoment(grant: ChildGrant<"answer.write">, at: MomentAt, now: number): Promise<Result<null>> {
  const found = database().transaction((tx) => readPlace(tx, grant, at, now));
  if (!found.ok) return found;
  return isDiskLow() ? refuse("moment-disk-full") : ok(null);
}

function readPlace(tx: Transaction, grant: ChildGrant<"answer.write">, { photoId, clipMs, isTurnedBack }: MomentAt, now: number) {
  const clip = readPhotoConsent(grant, now) !== "given" ? undefined
    : tx.select({ photoSetId: photos.photoSetId, view: photos.view, isTurnedBack: photos.isTurnedBack, durationMs: clips.durationMs, width: clips.width, height: clips.height, turns: clips.turns })
      .from(clips).innerJoin(photos, and(eq(photos.id, clips.photoId), eq(photos.childId, clips.childId)))
      .innerJoin(photoSets, and(eq(photoSets.id, photos.photoSetId), eq(photoSets.childId, photos.childId)))
      .where(and(own(clips, grant), eq(clips.photoId, photoId), isNull(photos.removedAt), isNotNull(photoSets.sentAt), isNull(photoSets.voidedAt))).get();
  if (!clip) return refuse("clip-gone");
  if (clipMs > clip.durationMs) return refuse("form-invalid", { field: "ms" });
  if (clip.isTurnedBack !== isTurnedBack) return refuse("stale-version");
  // Those that are out of sight keep their place: they may come back.
  const taken = tx.select({ ordinal: photos.ordinal }).from(photos).where(and(own(photos, grant), eq(photos.photoSetId, clip.photoSetId), isMoment)).all().map(({ ordinal }) => ordinal);
  return ok({ ...clip, ordinal: MOMENT_PLACES.find((each) => !taken.includes(each)) ?? null });
}

/**
 * Keeps a picture that a therapist took from a clip, with its time, as a further picture of that set: files first, synced, then
 * the rows. It is no photo of the family's and settles nothing; the same answer counts as before. Refused as above, `moments-full`,
 * `moment-not-of-clip` for another shape, `moment-mirrored` and `moment-other-child` where its side card says so, which must be
 * settled on the photo first.
 */
export async function takeMoment(grant: ChildGrant<"answer.write">, at: MomentAt, prepared: PreparedPhoto, now: number): Promise<Result<{ readonly photoId: string }>> {
  const { card } = prepared;
  if (card?.found === "one" && card.reading.mirrored) return refuse("moment-mirrored");
  const stored = await storePictures(prepared);
  const taken = act(grant, "moment.taken", now, (tx) => {
    const place = readPlace(tx, grant, at, now);
    if (!place.ok) return place;
    const { photoSetId, view, ordinal } = place.value;
    if (ordinal === null) return refuse("moments-full", { values: { max: MOMENTS_LIMIT } });
    const [largest] = prepared.sizes;
    if (!isOfShape(largest, shownSize(place.value))) return refuse("moment-not-of-clip");
    const said = cardSaid(grant, card);
    if (said?.found === "one" && said.owner === "other-child") return refuse("moment-other-child");
    const photoId = crypto.randomUUID();
    const { exposure, hash, sharpness } = prepared.measures;
    tx.insert(photos).values({
      id: photoId, childId: grant.childId, familyId: grant.familyId, photoSetId, ordinal, view, momentOf: at.photoId, clipMs: at.clipMs, momentBy: grant.actor.personId,
      width: largest.width, height: largest.height, placeholder: prepared.placeholder.bytes.toString("base64"), sharpness,
      exposureMean: exposure.mean, exposureDarkShare: exposure.darkShare, exposureLightShare: exposure.lightShare, hash, mirroredFlag: false,
      cardReading: card && serialiseFinding(card), isTurnedBack: at.isTurnedBack, receivedBytes: prepared.receivedBytes, receivedSha256: prepared.sha256, storedAt: now,
    }).run();
    insertPictures(tx, grant, photoId, stored, now);
    return ok({ objectId: photoId, value: { photoId } });
  });
  await eraseUnclaimed(stored.map(({ media }) => media.fileId));
  return taken;
}

/**
 * Takes a moment away again, with its files. Refused: `moment-gone`; `moment-held` when an answer holds it; `moment-drawn-on` while
 * anybody's draft has marks on it or a pair with it.
 */
export async function removeMoment(grant: ChildGrant<"answer.write">, photoId: string, now: number): Promise<Result<null>> {
  const removed = act(grant, "moment.removed", now, (tx) => {
    const isIt = and(own(photos, grant), eq(photos.id, photoId), isMoment);
    if (!tx.select({ id: photos.id }).from(photos).where(and(isIt, isNull(photos.removedAt))).get()) return refuse("moment-gone");
    if (tx.select({ id: photos.id }).from(photos).where(and(isIt, isHeldBy(isNull(answers.takenBackAt)))).get()) return refuse("moment-held");
    if (tx.select({ body: drafts.body }).from(drafts).where(own(drafts, grant)).all().some(({ body }) => body.includes(photoId))) return refuse("moment-drawn-on");
    eraseRows(tx, [{ kind: "photo", id: photoId, erasedAt: now }]);
    return ok({ objectId: photoId, value: null });
  });
  if (removed.ok) await finishErasing(database(), mediaStore());
  return removed;
}
