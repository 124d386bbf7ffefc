import "server-only";
import { and, eq, isNotNull, isNull, sql } from "drizzle-orm";
import { among, prepared } from "@/db/prepared";
import { families } from "@/db/schema/care";
import { photoSets, photos } from "@/db/schema/photos";
import { HASH_PARTS, maybeSamePicture, samePictureParts, type PictureHash } from "@/lib/domain/photo/perceptual-hash";
import { grouped } from "@/lib/records/grouped";
import { isFamilys } from "@/lib/records/sent-photos";

export type HashedPicture = { readonly photoSetId: string; readonly childId: string; readonly hash: PictureHash };

/** Whether a picture of another set that was sent and still counts may be the same, of this child or of another one. */
export type SamePicture = { readonly ofChild: boolean; readonly ofOther: boolean };

/**
 * The same question for many pictures at once, by photo set: in every set of the practice that counts, answered or
 * not, found by an index of each part of the hashes. A hash is compared once, however often it was sent. For lib/records alone.
 */
export function readSamePictures(practiceId: string, pictures: readonly HashedPicture[]): (photoSetId: string) => SamePicture {
  const alike = alikeTo([...new Set(pictures.map(({ hash }) => hash))]);
  const sent = grouped(sentWith().all({ practiceId, hashes: JSON.stringify([...new Set([...alike.values()].flat())]) }), ({ hash }) => hash);
  const by = grouped(pictures, ({ photoSetId }) => photoSetId);
  return (photoSetId) => {
    const others = (by.get(photoSetId) ?? []).flatMap(({ hash, childId }) => (alike.get(hash) ?? []).flatMap((other) => sent.get(other) ?? [])
      .filter(({ first, last }) => first !== photoSetId || last !== photoSetId).map((other) => other.childId === childId));
    return { ofChild: others.includes(true), ofOther: others.includes(false) };
  };
}

/** Of each hash those of the database that may be of the same picture: of many that agree with it in a part, few are. */
function alikeTo(hashes: readonly PictureHash[]): ReadonlyMap<PictureHash, readonly PictureHash[]> {
  const asked = hashes.map((hash) => ({ hash, parts: samePictureParts(hash) }));
  const found = HASH_PARTS.map(({ from, digits }, at) => grouped(hashesWith[at]?.().all({ values: JSON.stringify([...new Set(asked.flatMap(({ parts }) => parts[at] ?? []))]) }) ?? [],
    ({ hash }) => hash.slice(from, from + digits)));
  return new Map(asked.map(({ hash, parts }) => {
    const near = parts.flatMap((values, at) => values.flatMap((value) => found[at]?.get(value) ?? []));
    return [hash, [...new Set(near.map((other) => other.hash).filter((other) => maybeSamePicture(hash, other)))]];
  }));
}

/** A part of what is in the index, written into the statement and not handed to it: the index is of this very expression. */
const partOf = (at: number, of = "photos.hash") => {
  const { from = 0, digits = 0 } = HASH_PARTS[at] ?? {};
  return sql.raw(`substr(${of}, ${from + 1}, ${digits})`);
};

const hashesWith = HASH_PARTS.map((_part, at) => prepared((db) => db.selectDistinct({ hash: photos.hash }).from(photos)
  .where(and(sql`${partOf(at)} in (select value from json_each(${sql.placeholder("values")}))`, isNull(photos.removedAt), isFamilys)).prepare()));

/** For each of these hashes and each child whose sets of this practice hold it: the first and last such set by its id, which are one where there is only one. */
const sentWith = prepared((db) => db.select({ hash: photos.hash, childId: photos.childId, first: sql<string>`min(${photos.photoSetId})`, last: sql<string>`max(${photos.photoSetId})` }).from(photos)
  .innerJoin(photoSets, eq(photoSets.id, photos.photoSetId)).innerJoin(families, eq(families.id, photoSets.familyId))
  .where(and(sql`${partOf(0)} in (select ${partOf(0, "value")} from json_each(${sql.placeholder("hashes")}))`, among(photos.hash, "hashes"), isNull(photos.removedAt), isFamilys,
    eq(families.practiceId, sql.placeholder("practiceId")), isNotNull(photoSets.sentAt), isNull(photoSets.voidedAt)))
  .groupBy(photos.hash, photos.childId).prepare());
