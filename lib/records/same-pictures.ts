import "server-only";
import { and, eq, inArray, isNotNull, isNull, sql } from "drizzle-orm";
import { database } from "@/db/client";
import { families } from "@/db/schema/care";
import { photoSets, photos } from "@/db/schema/photos";
import { HASH_PARTS, maybeSamePicture, samePictureParts } from "@/lib/domain/photo/perceptual-hash";
import { grouped } from "@/lib/records/grouped";
import { inChunks } from "@/lib/records/in-chunks";
import { isFamilys } from "@/lib/records/sent-photos";

export type HashedPicture = { readonly photoSetId: string; readonly childId: string; readonly hash: string };

/** Whether a picture of another set that was sent and still counts may be the same, of this child or of another one. */
export type SamePicture = { readonly ofChild: boolean; readonly ofOther: boolean };

/**
 * The same question for many pictures at once, by photo set: in every set of the practice that counts, answered or
 * not, found by an index of each part of the hashes. For lib/records alone.
 */
export function readSamePictures(practiceId: string, pictures: readonly HashedPicture[]): (photoSetId: string) => SamePicture {
  const parts = pictures.map((picture) => ({ picture, parts: samePictureParts(picture.hash) }));
  const found = HASH_PARTS.map(({ from, digits }, at) => grouped(readByPart(at, parts.flatMap(({ parts: each }) => each[at] ?? [])), ({ hash }) => hash.slice(from, from + digits)));
  // Of many that agree in a part few are alike; only of those is asked whether they count.
  const alike = parts.flatMap(({ picture, parts: each }) => each.flatMap((values, at) => values.flatMap((value) => found[at]?.get(value) ?? []))
    .filter((other) => other.photoSetId !== picture.photoSetId && maybeSamePicture(picture.hash, other.hash)).map((other) => ({ picture, other })));
  const counted = readCounted(practiceId, alike.map(({ other }) => other.photoSetId));
  const same = new Map<string, { ofChild: boolean; ofOther: boolean }>();
  for (const { picture, other } of alike) {
    if (!counted.has(other.photoSetId)) continue;
    const of = same.get(picture.photoSetId) ?? { ofChild: false, ofOther: false };
    same.set(picture.photoSetId, of);
    if (other.childId === picture.childId) of.ofChild = true;
    else of.ofOther = true;
  }
  return (photoSetId) => same.get(photoSetId) ?? { ofChild: false, ofOther: false };
}

/** Values written into the statement, not handed to it: the index is of this very expression. */
const partOf = (at: number) => {
  const { from = 0, digits = 0 } = HASH_PARTS[at] ?? {};
  return sql.raw(`substr(photos.hash, ${from + 1}, ${digits})`);
};

const readByPart = (at: number, values: readonly string[]): readonly HashedPicture[] => (values.length === 0 ? [] : database()
  .select({ photoSetId: photos.photoSetId, childId: photos.childId, hash: photos.hash }).from(photos)
  .where(and(sql`${partOf(at)} in (select value from json_each(${JSON.stringify([...new Set(values)])}))`, isNull(photos.removedAt), isFamilys)).all());

/** Which of these photo sets were sent to this practice and still count. */
const readCounted = (practiceId: string, photoSetIds: readonly string[]): ReadonlySet<string> => new Set(inChunks([...new Set(photoSetIds)], (some) => database()
  .select({ id: photoSets.id }).from(photoSets).innerJoin(families, eq(families.id, photoSets.familyId))
  .where(and(inArray(photoSets.id, some), eq(families.practiceId, practiceId), isNotNull(photoSets.sentAt), isNull(photoSets.voidedAt))).all()).map(({ id }) => id));
