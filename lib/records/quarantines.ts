import "server-only";
import { and, asc, count, eq, isNotNull, isNull, notExists, sql } from "drizzle-orm";
import { alias } from "drizzle-orm/sqlite-core";
import { database, type Transaction } from "@/db/client";
import { among, OF_CHILD, prepared } from "@/db/prepared";
import { children, families } from "@/db/schema/care";
import { quarantines } from "@/db/schema/erasure";
import { photoSets, photos } from "@/db/schema/photos";
import { people } from "@/db/schema/practice";
import type { ChildGrant, PracticeGrant } from "@/lib/access/grant";
import { ok, refuse, type Result } from "@/lib/domain/result";
import type { View } from "@/lib/domain/setup/vocabulary";
import { act } from "@/lib/records/act";
import { own, type ChildRef } from "@/lib/records/child-facts";
import { endExports } from "@/lib/records/export-files";
import { isFamilys } from "@/lib/records/sent-photos";
import { tellLeads } from "@/lib/records/tell-staff";

/**
 * Takes an unsuitable picture out of everybody's sight at once, its sender's too; the lead erases or releases it.
 * It is `removed` meanwhile, which every read of a photo asks about already. Refused: `not-there`.
 */
export async function setPhotoAside(grant: ChildGrant<"photo.set-aside">, photoId: string, now: number): Promise<Result<null>> {
  return act(grant, "photo.set-aside", now, (tx) => {
    const sent = tx.select({ id: photos.id }).from(photos).innerJoin(photoSets, and(eq(photoSets.id, photos.photoSetId), eq(photoSets.childId, photos.childId)))
      .where(and(own(photos, grant), eq(photos.id, photoId), isNull(photos.removedAt), isNotNull(photoSets.sentAt))).get();
    if (!sent) return refuse("not-there");
    // What was taken from its clip shows the same, and comes back with it.
    const moments = tx.select({ id: photos.id }).from(photos).where(and(own(photos, grant), eq(photos.momentOf, photoId), isNull(photos.removedAt))).all();
    for (const { id } of [{ id: photoId }, ...moments]) {
      tx.update(photos).set({ removedAt: now }).where(and(own(photos, grant), eq(photos.id, id))).run();
      tx.insert(quarantines).values({ id: crypto.randomUUID(), childId: grant.childId, familyId: grant.familyId, photoId: id, setAsideBy: grant.actor.personId, setAsideAt: now }).run();
    }
    endExports(tx, grant, undefined, now);
    tellLeads(tx, grant.practiceId, "photo-set-aside", photoId, now);
    return ok({ objectId: photoId, value: null });
  });
}

/** Brings a photo back that was set aside in error. Refused: `not-there`. */
export async function releasePhoto(grant: ChildGrant<"erasure.settle">, photoId: string, now: number): Promise<Result<null>> {
  return act(grant, "photo.released", now, (tx) => {
    const aside = tx.select({ at: quarantines.setAsideAt, momentOf: photos.momentOf }).from(quarantines).innerJoin(photos, eq(photos.id, quarantines.photoId))
      .where(and(own(quarantines, grant), eq(quarantines.photoId, photoId), isNull(quarantines.releasedAt))).get();
    // A moment is not seen without its clip.
    if (!aside || (aside.momentOf !== null && isAside(tx, grant, aside.momentOf))) return refuse("not-there");
    const moments = tx.select({ id: photos.id }).from(photos).innerJoin(quarantines, and(eq(quarantines.photoId, photos.id), isNull(quarantines.releasedAt), eq(quarantines.setAsideAt, aside.at)))
      .where(and(own(photos, grant), eq(photos.momentOf, photoId))).all();
    for (const { id } of [{ id: photoId }, ...moments]) {
      tx.update(quarantines).set({ releasedAt: now, releasedBy: grant.actor.personId }).where(and(own(quarantines, grant), eq(quarantines.photoId, id), isNull(quarantines.releasedAt))).run();
      tx.update(photos).set({ removedAt: null }).where(and(own(photos, grant), eq(photos.id, id))).run();
    }
    return ok({ objectId: photoId, value: null });
  });
}

const isAside = (tx: Transaction, ref: ChildRef, photoId: string): boolean =>
  tx.select({ id: quarantines.id }).from(quarantines).where(and(own(quarantines, ref), eq(quarantines.photoId, photoId), isNull(quarantines.releasedAt))).get() !== undefined;

export type SetAside = {
  readonly photoId: string; readonly photoSetId: string; readonly childId: string; readonly childName: string;
  readonly view: View; readonly sentAt: number; readonly by: string; readonly at: number;
  /** Of a moment: its time in the clip. */
  readonly clipMs: number | null;
};

/** That they are there, not what they show: nobody sees them. */
export async function photosSetAside(grant: PracticeGrant<"erasures.read">): Promise<readonly SetAside[]> {
  const of = alias(quarantines, "aside_of");
  // Moments that are out of sight with their clip come back with it.
  const ofClip = database().select({ one: sql`1` }).from(of).where(and(eq(of.photoId, photos.momentOf), isNull(of.releasedAt)));
  return database().select({
    photoId: photos.id, photoSetId: photos.photoSetId, childId: children.id, childName: children.givenName, view: photos.view, clipMs: photos.clipMs,
    sentAt: photoSets.sentAt, by: people.name, at: quarantines.setAsideAt,
  }).from(quarantines).innerJoin(photos, eq(photos.id, quarantines.photoId)).innerJoin(photoSets, eq(photoSets.id, photos.photoSetId))
    .innerJoin(children, eq(children.id, quarantines.childId)).innerJoin(families, eq(families.id, quarantines.familyId)).innerJoin(people, eq(people.id, quarantines.setAsideBy))
    .where(and(eq(families.practiceId, grant.practiceId), isNull(quarantines.releasedAt), notExists(ofClip))).orderBy(asc(quarantines.setAsideAt)).all()
    .flatMap(({ sentAt, ...row }) => (sentAt === null ? [] : [{ ...row, sentAt }]));
}

const asideBySet = prepared((db) => db.select({ photoSetId: photos.photoSetId, n: count() }).from(quarantines).innerJoin(photos, eq(photos.id, quarantines.photoId))
  .where(and(own(quarantines, OF_CHILD), among(photos.photoSetId, "photoSetIds"), isFamilys, isNull(quarantines.releasedAt))).groupBy(photos.photoSetId).prepare());

/** How many photos of each of these sets are out of sight now; none is not said. For lib/records alone: the caller has the grant. */
export const setAsideIn = ({ childId, familyId }: ChildRef, photoSetIds: readonly string[]): ReadonlyMap<string, number> =>
  new Map(asideBySet().all({ childId, familyId, photoSetIds: JSON.stringify(photoSetIds) }).map(({ photoSetId, n }) => [photoSetId, n]));
