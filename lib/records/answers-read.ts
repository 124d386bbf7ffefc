import "server-only";
import { and, asc, desc, eq, isNotNull, isNull, sql, type SQL } from "drizzle-orm";
import type { Database } from "@/db/client";
import { among, OF_CHILD, prepared } from "@/db/prepared";
import { setups } from "@/db/schema/care";
import { photoSets, photos } from "@/db/schema/photos";
import { people } from "@/db/schema/practice";
import type { ChildGrant } from "@/lib/access/grant";
import type { View } from "@/lib/domain/setup/vocabulary";
import { askedAboutEach, type BackQuestion } from "@/lib/records/back-question-reads";
import { own, readPhotoConsent } from "@/lib/records/child-facts";
import { naming, type ExerciseNames } from "@/lib/records/exercise-names";
import { clipsOf, type ClipFacts } from "@/lib/records/clips";
import { answersInForce, type GivenAnswer } from "@/lib/records/given-answers";
import { grouped } from "@/lib/records/grouped";
import { photosWithMarkedPicture } from "@/lib/records/marked-pictures";
import { setAsideIn } from "@/lib/records/quarantines";

export type Picture = {
  readonly photoId: string;
  readonly view: View;
  readonly width: number;
  readonly height: number;
  readonly isMarked: boolean;
  readonly isTurnedBack: boolean;
  /** The movement this photo is a frame of. */
  readonly clip: ClipFacts | null;
};

/** A picture that a therapist took from a clip and marked for this answer. */
export type MarkedMoment = Omit<Picture, "isMarked" | "clip"> & {
  /** The photo whose clip it was taken from, and the time in it. */
  readonly momentOf: string;
  readonly clipMs: number;
  readonly by: string;
};

export type HistoryEntry = {
  readonly photoSetId: string;
  readonly exerciseKey: string;
  /** By the version it was sent under. */
  readonly names: ExerciseNames;
  readonly sentAt: number;
  readonly sentBy: string;
  readonly note: string;
  readonly isOld: boolean;
  readonly voidReason: "wrong-child" | "consent-withdrawn" | "erased" | null;
  /** How many of its photos are out of everybody's sight, and when any were erased. */
  readonly setAside: number;
  readonly photosErasedAt: number | null;
  /** None once it is void or photo consent is withdrawn. */
  readonly pictures: readonly Picture[];
  /** Of its clips, in the order of their time. */
  readonly moments: readonly MarkedMoment[];
  /** What the family was asked about it before its answer, oldest first. */
  readonly asked: readonly BackQuestion[];
  /** The version in force. */
  readonly answer: GivenAnswer | null;
  /** What it amended, newest first. */
  readonly earlier: readonly GivenAnswer[];
};

/** Photo sets sent for one child and exercise with their answers, newest first, `most` of them or all; voided ones say so. Nothing of an answer shows before it is published. */
export async function historyOf(grant: ChildGrant<"child.read">, exerciseKey: string, now: number, most = ALL): Promise<readonly HistoryEntry[]> {
  const { childId, familyId } = grant;
  return entriesOf(grant, setsOfExercise().all({ childId, familyId, exerciseKey, most }), now);
}

/** One photo set as history shows it; null when this child has none such. */
export async function entryOf(grant: ChildGrant<"child.read">, photoSetId: string, now: number): Promise<HistoryEntry | null> {
  const { childId, familyId } = grant;
  return entriesOf(grant, oneSet().all({ childId, familyId, photoSetId, most: 1 }), now).at(0) ?? null;
}

/** No limit, as SQLite has it. */
const ALL = -1;
const sentSets = (db: Database, which: SQL) => db.select({ set: photoSets, sender: people.name, exerciseVersion: setups.exerciseVersion }).from(photoSets)
  .innerJoin(setups, and(eq(setups.id, photoSets.setupId), eq(setups.childId, photoSets.childId)))
  .innerJoin(people, eq(people.id, photoSets.sentBy))
  .where(and(own(photoSets, OF_CHILD), which, isNotNull(photoSets.sentAt))).orderBy(desc(photoSets.sentAt)).limit(sql.placeholder("most")).prepare();
const setsOfExercise = prepared((db) => sentSets(db, eq(photoSets.exerciseKey, sql.placeholder("exerciseKey"))));
const oneSet = prepared((db) => sentSets(db, eq(photoSets.id, sql.placeholder("photoSetId"))));

function entriesOf(grant: ChildGrant<"child.read">, sets: ReturnType<ReturnType<typeof sentSets>["all"]>, now: number): readonly HistoryEntry[] {
  const ids = sets.map(({ set }) => set.id);
  if (ids.length === 0) return [];
  const [answered, asked, aside] = [answersInForce(grant, ids, now), askedAboutEach(grant, ids), setAsideIn(grant, ids)];
  const open = readPhotoConsent(grant, now) === "given" ? sets.flatMap(({ set }) => (set.voidedAt === null ? [set.id] : [])) : [];
  const [shown, names] = [picturesOf(grant, open, now), naming(grant.practiceId, grant.actor.reader.locale)];
  return sets.flatMap(({ set, sender, exerciseVersion }) => {
    if (set.sentAt === null) return [];
    const { answer, earlier } = answered.get(set.id) ?? { answer: null, earlier: [] };
    return [{
      photoSetId: set.id, exerciseKey: set.exerciseKey, names: names(set.exerciseKey, exerciseVersion), sentAt: set.sentAt, sentBy: sender, note: set.note,
      isOld: set.isOld, voidReason: set.voidReason, asked: asked.get(set.id) ?? [], answer, earlier,
      setAside: aside.get(set.id) ?? 0, photosErasedAt: set.photosErasedAt, ...picturesAndMoments(shown.get(set.id) ?? []),
    }];
  });
}

const photosOfSets = prepared((db) => db.select({
  photoSetId: photos.photoSetId, photoId: photos.id, view: photos.view, width: photos.width, height: photos.height, isTurnedBack: photos.isTurnedBack, momentOf: photos.momentOf, clipMs: photos.clipMs, by: people.name,
}).from(photos).leftJoin(people, eq(people.id, photos.momentBy))
  .where(and(own(photos, OF_CHILD), among(photos.photoSetId, "photoSetIds"), isNull(photos.removedAt))).orderBy(asc(photos.clipMs), asc(photos.ordinal)).prepare());

/** The photos and moments that are shown of these sets, by the set. */
function picturesOf(grant: ChildGrant<"child.read">, photoSetIds: readonly string[], now: number) {
  if (photoSetIds.length === 0) return new Map<string, never>();
  const { childId, familyId } = grant;
  const rows = photosOfSets().all({ childId, familyId, photoSetIds: JSON.stringify(photoSetIds) });
  const marked = photosWithMarkedPicture(grant, now);
  const moving = clipsOf(grant, rows.map(({ photoId }) => photoId));
  return grouped(rows.map((row) => ({ ...row, isMarked: marked.has(row.photoId), clip: moving.get(row.photoId) ?? null })), ({ photoSetId }) => photoSetId);
}

type ShownRow = Picture & { readonly photoSetId: string; readonly momentOf: string | null; readonly clipMs: number | null; readonly by: string | null };

function picturesAndMoments(rows: readonly ShownRow[]): Pick<HistoryEntry, "pictures" | "moments"> {
  const [pictures, moments]: [Picture[], MarkedMoment[]] = [[], []];
  for (const { photoSetId: _photoSetId, momentOf, clipMs, by, isMarked, clip, ...row } of rows) {
    if (momentOf === null) pictures.push({ ...row, isMarked, clip });
    else if (isMarked && clipMs !== null && by !== null) moments.push({ ...row, momentOf, clipMs, by });
  }
  return { pictures, moments };
}
