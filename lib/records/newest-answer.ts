import "server-only";
import { and, desc, eq, isNotNull, isNull, sql } from "drizzle-orm";
import { OF_CHILD, prepared } from "@/db/prepared";
import { answers } from "@/db/schema/answers";
import { mediaFiles, photoSets } from "@/db/schema/photos";
import type { ChildGrant } from "@/lib/access/grant";
import type { View } from "@/lib/domain/setup/vocabulary";
import { entryOf, type HistoryEntry, type Picture } from "@/lib/records/answers-read";
import { own } from "@/lib/records/child-facts";
import type { ClipFacts } from "@/lib/records/clips";
import type { GivenAnswer } from "@/lib/records/given-answers";
import { inForce } from "@/lib/records/in-force";
import { questionsOf } from "@/lib/records/question-threads";
import type { VoiceNote } from "@/lib/records/voice-notes";

export type NewestNote = VoiceNote & Pick<GivenAnswer, "summary" | "answeredAt">;
export type NewestClip = ClipFacts & { readonly photoId: string; readonly view: View; readonly isTurnedBack: boolean; readonly sentAt: number; readonly answeredAt: number; readonly byteLength: number };

/** What a card shows of the answers in force to photo sets that are not void. */
export type NewestAnswer = {
  /** The photo set answered last, with how much was asked about that; null when none is. */
  readonly answered: { readonly photoSetId: string; readonly asked: number } | null;
  /** Of the newest set that was answered and not only asked for again: the spoken note with its words; null when there is none. */
  readonly note: NewestNote | null;
  /** Its clip. */
  readonly clip: NewestClip | null;
  /** Its marked picture of a fault that is still open, to stand as "Not like this" beside its cue. */
  readonly picture: (Picture & { readonly answeredAt: number }) | null;
};

const answersOfExercise = prepared((db) => db.select({ photoSetId: photoSets.id, answerId: answers.id, kind: answers.kind, answeredAt: answers.answeredAt }).from(photoSets)
  .innerJoin(answers, and(eq(answers.photoSetId, photoSets.id), eq(answers.childId, photoSets.childId)))
  .where(and(own(photoSets, OF_CHILD), eq(photoSets.exerciseKey, sql.placeholder("exerciseKey")), isNotNull(photoSets.sentAt), isNull(photoSets.voidReason), inForce(sql.placeholder("now")))).orderBy(desc(photoSets.sentAt)).prepare());

/** Reads one set whole, however many there are. `openItems` are the items that stand at fix. */
export async function newestAnswer(grant: ChildGrant<"child.read">, exerciseKey: string, openItems: readonly string[], now: number): Promise<NewestAnswer> {
  const { childId, familyId } = grant;
  const all = answersOfExercise().all({ childId, familyId, exerciseKey, now });
  const [last] = all.toSorted((a, b) => b.answeredAt - a.answeredAt);
  const told = all.find(({ kind }) => kind === "answer");
  const entry = told ? await entryOf(grant, told.photoSetId, now) : null;
  return {
    answered: last ? { photoSetId: last.photoSetId, asked: questionsOf(grant).filter(({ answerId }) => answerId === last.answerId).length } : null,
    ...(entry?.answer ? toldIn(grant, { ...entry, answer: entry.answer }, openItems) : { note: null, clip: null, picture: null }),
  };
}

function toldIn(grant: ChildGrant<"child.read">, { answer, pictures, moments, sentAt }: HistoryEntry & { readonly answer: GivenAnswer }, openItems: readonly string[]): Omit<NewestAnswer, "answered"> {
  const { answeredAt, summary, voice } = answer;
  const isStillOpen = answer.verdicts.some((each) => each.verdict === "fix" && openItems.includes(each.itemKey));
  const [moment] = moments;
  const marked = pictures.find((each) => each.isMarked) ?? (moment && { ...moment, isMarked: true, clip: null });
  return {
    note: voice && { ...voice, summary, answeredAt },
    clip: clipIn(grant, pictures, { sentAt, answeredAt }),
    picture: isStillOpen && marked ? { ...marked, answeredAt } : null,
  };
}

const clipLength = prepared((db) => db.select({ byteLength: mediaFiles.byteLength }).from(mediaFiles)
  .where(and(own(mediaFiles, OF_CHILD), eq(mediaFiles.photoId, sql.placeholder("photoId")), eq(mediaFiles.kind, "clip"))).prepare());

function clipIn({ childId, familyId }: ChildGrant<"child.read">, pictures: readonly Picture[], times: Pick<NewestClip, "sentAt" | "answeredAt">): NewestClip | null {
  const frame = pictures.find(({ clip }) => clip);
  if (!frame?.clip) return null;
  const { photoId, view, isTurnedBack, clip } = frame;
  const file = clipLength().get({ childId, familyId, photoId });
  return file ? { ...clip, ...file, photoId, view, isTurnedBack, ...times } : null;
}
