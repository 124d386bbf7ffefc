import "server-only";
import { and, asc, desc, eq, isNotNull, isNull, lt, sql, type SQL } from "drizzle-orm";
import { database, type Database } from "@/db/client";
import { OF_CHILD, prepared } from "@/db/prepared";
import { answers, verdicts } from "@/db/schema/answers";
import { setups } from "@/db/schema/care";
import { mediaFiles, photoSets, photos } from "@/db/schema/photos";
import { people } from "@/db/schema/practice";
import type { ChildGrant } from "@/lib/access/grant";
import type { Verdict, View } from "@/lib/domain/setup/vocabulary";
import { spansOf, type GivenSpan } from "@/lib/records/answer-spans";
import { askedAbout, type BackQuestion } from "@/lib/records/back-question-reads";
import { own, readPhotoConsent, type ChildRef } from "@/lib/records/child-facts";
import { exerciseWords, type ExerciseNames } from "@/lib/records/exercise-names";
import { clipsOf, type ClipFacts } from "@/lib/records/clips";
import { inForce } from "@/lib/records/in-force";
import { photosWithMarkedPicture } from "@/lib/records/marked-pictures";
import { pairsOf, type GivenPair } from "@/lib/records/pairs";
import { setAsideIn } from "@/lib/records/quarantines";
import { threadOf, type Question } from "@/lib/records/question-threads";
import { voiceOf, type VoiceNote } from "@/lib/records/voice-notes";

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

export type GivenAnswer = {
  readonly answerId: string;
  /** 1, and one more for each amendment; `amendReason` is empty for the first. */
  readonly version: number;
  readonly amendReason: string;
  readonly kind: "answer" | "take-again";
  readonly summary: string;
  readonly nextStep: "new-photo" | "keep-going" | "open-next-phase" | "book-assessment";
  readonly nextView: View | null;
  readonly answeredAt: number;
  readonly answeredBy: string;
  readonly verdicts: readonly { readonly itemKey: string; readonly verdict: Verdict; readonly cue: string | null; readonly cueId: string | null; readonly sidesKey: string }[];
  /** Photos set side by side; none once one of them may not be looked at any more. */
  readonly pairs: readonly GivenPair[];
  /** Parts of clips to be repeated, by the photo whose clip it is. */
  readonly spans: readonly GivenSpan[];
  /** What the family asked about this version, with the replies, oldest first. */
  readonly thread: readonly Question[];
  /** None once its set is void. */
  readonly voice: VoiceNote | null;
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

/** Every photo set sent for one child and exercise with its answer, newest first; voided ones say so. Nothing of an answer shows before it is published. */
export async function historyOf(grant: ChildGrant<"child.read">, exerciseKey: string, now: number): Promise<readonly HistoryEntry[]> {
  return entriesOf(grant, eq(photoSets.exerciseKey, exerciseKey), now);
}

/** One photo set as history shows it; null when this child has none such. */
export async function entryOf(grant: ChildGrant<"child.read">, photoSetId: string, now: number): Promise<HistoryEntry | null> {
  return entriesOf(grant, eq(photoSets.id, photoSetId), now).at(0) ?? null;
}

function entriesOf(grant: ChildGrant<"child.read">, which: SQL, now: number): readonly HistoryEntry[] {
  const sets = database().select({ set: photoSets, sender: people.name, exerciseVersion: setups.exerciseVersion }).from(photoSets)
    .innerJoin(setups, and(eq(setups.id, photoSets.setupId), eq(setups.childId, photoSets.childId)))
    .innerJoin(people, eq(people.id, photoSets.sentBy))
    .where(and(own(photoSets, grant), which, isNotNull(photoSets.sentAt))).orderBy(desc(photoSets.sentAt)).all();
  const isOpen = readPhotoConsent(grant, now) === "given";
  return sets.flatMap(({ set, sender, exerciseVersion }) => {
    if (set.sentAt === null) return [];
    const answer = answersTo(grant, set.id, inForce(now), now).at(0) ?? null;
    return [{
      photoSetId: set.id, exerciseKey: set.exerciseKey, names: exerciseWords(grant.practiceId, set.exerciseKey, exerciseVersion, grant.actor.reader.locale), sentAt: set.sentAt, sentBy: sender, note: set.note,
      isOld: set.isOld, voidReason: set.voidReason, asked: askedAbout(grant, set.id), answer,
      setAside: setAsideIn(grant, set.id), photosErasedAt: set.photosErasedAt,
      ...(isOpen && set.voidedAt === null ? picturesOf(grant, set.id, now) : { pictures: [], moments: [] }),
      earlier: answer ? answersTo(grant, set.id, and(isNull(answers.takenBackAt), lt(answers.version, answer.version)), now) : [],
    }];
  });
}

function picturesOf(grant: ChildGrant<"child.read">, photoSetId: string, now: number): Pick<HistoryEntry, "pictures" | "moments"> {
  const rows = database().select({
    photoId: photos.id, view: photos.view, width: photos.width, height: photos.height, isTurnedBack: photos.isTurnedBack, momentOf: photos.momentOf, clipMs: photos.clipMs, by: people.name,
  }).from(photos).leftJoin(people, eq(people.id, photos.momentBy))
    .where(and(own(photos, grant), eq(photos.photoSetId, photoSetId), isNull(photos.removedAt))).orderBy(asc(photos.clipMs), asc(photos.ordinal)).all();
  const marked = photosWithMarkedPicture(grant, now);
  const moving = database().transaction((tx) => clipsOf(tx, grant, rows.map(({ photoId }) => photoId)));
  const [pictures, moments]: [Picture[], MarkedMoment[]] = [[], []];
  for (const { momentOf, clipMs, by, ...row } of rows) {
    const isMarked = marked.has(row.photoId);
    if (momentOf === null) pictures.push({ ...row, isMarked, clip: moving.get(row.photoId) ?? null });
    else if (isMarked && clipMs !== null && by !== null) moments.push({ ...row, momentOf, clipMs, by });
  }
  return { pictures, moments };
}

/** Every version of the answer to one set that was not taken back, newest first: those on their way too, so not for a family. */
export const versionsOf = async (grant: ChildGrant<"answer.write">, photoSetId: string, now: number): Promise<readonly GivenAnswer[]> =>
  answersTo(grant, photoSetId, isNull(answers.takenBackAt), now);

/** The versions of the answer to one set that meet a condition, newest first. */
function answersTo(grant: ChildGrant<"child.read" | "answer.write">, photoSetId: string, which: SQL | undefined, now: number): readonly GivenAnswer[] {
  const rows = database().select({ answer: answers, by: people.name }).from(answers).innerJoin(people, eq(people.id, answers.answeredBy))
    .where(and(own(answers, grant), eq(answers.photoSetId, photoSetId), which)).orderBy(desc(answers.version)).all();
  return rows.map(({ answer, by }) => ({
    answerId: answer.id, version: answer.version, amendReason: answer.amendReason, kind: answer.kind, summary: answer.summary, nextStep: answer.nextStep, nextView: answer.nextView,
    answeredAt: answer.answeredAt, answeredBy: by,
    verdicts: verdictsOf(grant, answer.id),
    pairs: pairsOf(grant, answer.id, now), spans: spansOf(grant, answer.id), voice: voiceOf(grant, answer.id), thread: threadOf(grant, answer.id),
  }));
}

const given = prepared((db) => db.select({ itemKey: verdicts.itemKey, verdict: verdicts.verdict, cue: verdicts.cue, cueId: verdicts.cueId, sidesKey: verdicts.sidesKey }).from(verdicts)
  .where(and(own(verdicts, OF_CHILD), eq(verdicts.answerId, sql.placeholder("answerId")))).orderBy(asc(verdicts.sequence)).prepare());
const verdictsOf = ({ childId, familyId }: ChildRef, answerId: string): GivenAnswer["verdicts"] => given().all({ childId, familyId, answerId });

/** Answers in force to photo sets of one child and exercise that count: not the whole history for its newest entry. */
const inForceOn = (db: Database) => db.select({ photoSetId: photoSets.id, sentAt: sql<number>`${photoSets.sentAt}`, voidedAt: photoSets.voidedAt, answerId: answers.id, summary: answers.summary, answeredAt: answers.answeredAt })
  .from(answers).innerJoin(photoSets, and(eq(photoSets.id, answers.photoSetId), eq(photoSets.childId, answers.childId))).$dynamic();
const ofExercise = () => and(own(answers, OF_CHILD), eq(photoSets.exerciseKey, sql.placeholder("exerciseKey")), isNotNull(photoSets.sentAt), isNull(photoSets.voidReason), inForce(sql.placeholder("now")));
const answeredLast = prepared((db) => inForceOn(db).where(ofExercise()).orderBy(desc(answers.answeredAt), desc(photoSets.sentAt)).limit(1).prepare());
const sentLast = prepared((db) => inForceOn(db).where(and(ofExercise(), eq(answers.kind, "answer"))).orderBy(desc(photoSets.sentAt)).limit(1).prepare());

type Newest = Pick<HistoryEntry, "photoSetId" | "sentAt"> & Pick<GivenAnswer, "answerId" | "summary" | "answeredAt"> & { readonly voidedAt: number | null };

/** The answer in force to the photo set that was sent last of those that were judged. */
const newestOf = ({ childId, familyId }: ChildGrant<"child.read">, exerciseKey: string, now: number): Newest | null => sentLast().get({ childId, familyId, exerciseKey, now }) ?? null;

const picturesWith = (grant: ChildGrant<"child.read">, { photoSetId, voidedAt }: Newest, now: number): Pick<HistoryEntry, "pictures" | "moments"> =>
  (voidedAt === null && readPhotoConsent(grant, now) === "given" ? picturesOf(grant, photoSetId, now) : { pictures: [], moments: [] });

/** The photo set answered last, by its answer in force, with how much was asked about that; null when none is. */
export async function newestAnswered(grant: ChildGrant<"child.read">, exerciseKey: string, now: number): Promise<{ readonly photoSetId: string; readonly asked: number } | null> {
  const newest = answeredLast().get({ childId: grant.childId, familyId: grant.familyId, exerciseKey, now });
  return newest ? { photoSetId: newest.photoSetId, asked: threadOf(grant, newest.answerId).length } : null;
}

export type NewestNote = VoiceNote & Pick<GivenAnswer, "summary" | "answeredAt">;

/** The spoken note of the newest answer in force, with its words; null when that answer has none. */
export async function newestNote(grant: ChildGrant<"child.read">, exerciseKey: string, now: number): Promise<NewestNote | null> {
  const newest = newestOf(grant, exerciseKey, now);
  const voice = newest && voiceOf(grant, newest.answerId);
  return voice ? { ...voice, summary: newest.summary, answeredAt: newest.answeredAt } : null;
}

export type NewestClip = ClipFacts & { readonly photoId: string; readonly view: View; readonly isTurnedBack: boolean; readonly sentAt: number; readonly answeredAt: number; readonly byteLength: number };

/** The clip of the photo set that the newest answer in force is to; null when it has none. */
export async function newestClip(grant: ChildGrant<"child.read">, exerciseKey: string, now: number): Promise<NewestClip | null> {
  const newest = newestOf(grant, exerciseKey, now);
  const frame = newest && picturesWith(grant, newest, now).pictures.find(({ clip }) => clip);
  if (!newest || !frame?.clip) return null;
  const { photoId, view, isTurnedBack, clip } = frame;
  const file = database().select({ byteLength: mediaFiles.byteLength }).from(mediaFiles).where(and(own(mediaFiles, grant), eq(mediaFiles.photoId, photoId), eq(mediaFiles.kind, "clip"))).get();
  return file ? { ...clip, ...file, photoId, view, isTurnedBack, sentAt: newest.sentAt, answeredAt: newest.answeredAt } : null;
}

/**
 * The newest answer's marked picture of a fault that is still open, to stand as "Not like this" beside
 * its cue; null when there is none. `openItems` are the items that stand at fix.
 */
export async function openFaultPicture(
  grant: ChildGrant<"child.read">, exerciseKey: string, openItems: readonly string[], now: number,
): Promise<(Picture & { readonly answeredAt: number }) | null> {
  const newest = openItems.length > 0 ? newestOf(grant, exerciseKey, now) : null;
  if (!newest || !verdictsOf(grant, newest.answerId).some((each) => each.verdict === "fix" && openItems.includes(each.itemKey))) return null;
  const { pictures, moments: [moment] } = picturesWith(grant, newest, now);
  const picture = pictures.find((each) => each.isMarked) ?? (moment && { ...moment, isMarked: true, clip: null });
  return picture ? { ...picture, answeredAt: newest.answeredAt } : null;
}
