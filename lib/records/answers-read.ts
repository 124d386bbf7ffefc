import "server-only";
import { and, asc, desc, eq, isNotNull, isNull } from "drizzle-orm";
import { database } from "@/db/client";
import { answers, verdicts } from "@/db/schema/answers";
import { mediaFiles, photoSets, photos } from "@/db/schema/photos";
import { people } from "@/db/schema/practice";
import type { ChildGrant } from "@/lib/access/grant";
import type { Verdict, View } from "@/lib/domain/setup/vocabulary";
import { own, readPhotoConsent } from "@/lib/records/child-facts";

export type Picture = { readonly photoId: string; readonly view: View; readonly width: number; readonly height: number; readonly isMarked: boolean };

export type GivenAnswer = {
  readonly answerId: string;
  readonly kind: "answer" | "take-again";
  readonly summary: string;
  readonly nextStep: "new-photo" | "keep-going" | "open-next-phase" | "book-assessment";
  readonly nextView: View | null;
  readonly answeredAt: number;
  readonly answeredBy: string;
  readonly verdicts: readonly { readonly itemKey: string; readonly verdict: Verdict; readonly cue: string | null }[];
};

export type HistoryEntry = {
  readonly photoSetId: string;
  readonly sentAt: number;
  readonly sentBy: string;
  readonly note: string;
  readonly isOld: boolean;
  readonly voidReason: "wrong-child" | "consent-withdrawn" | null;
  /** None once it is void or photo consent is withdrawn. */
  readonly pictures: readonly Picture[];
  readonly answer: GivenAnswer | null;
};

/** Every photo set sent for one child and exercise with its answer, newest first; voided ones say so. */
export async function historyOf(grant: ChildGrant<"child.read">, exerciseKey: string): Promise<readonly HistoryEntry[]> {
  const sets = database().select({ set: photoSets, sender: people.name }).from(photoSets).innerJoin(people, eq(people.id, photoSets.sentBy))
    .where(and(own(photoSets, grant), eq(photoSets.exerciseKey, exerciseKey), isNotNull(photoSets.sentAt))).orderBy(desc(photoSets.sentAt)).all();
  const isOpen = readPhotoConsent(grant) === "given";
  return sets.flatMap(({ set, sender }) => set.sentAt === null ? [] : [{
    photoSetId: set.id, sentAt: set.sentAt, sentBy: sender, note: set.note, isOld: set.isOld, voidReason: set.voidReason,
    pictures: isOpen && set.voidedAt === null ? picturesOf(grant, set.id) : [],
    answer: answerTo(grant, set.id),
  }]);
}

function picturesOf(grant: ChildGrant<"child.read">, photoSetId: string): readonly Picture[] {
  const rows = database().select({ photoId: photos.id, view: photos.view, width: photos.width, height: photos.height }).from(photos)
    .where(and(own(photos, grant), eq(photos.photoSetId, photoSetId), isNull(photos.removedAt))).orderBy(asc(photos.ordinal)).all();
  const marked = new Set(database().select({ photoId: mediaFiles.photoId }).from(mediaFiles)
    .where(and(own(mediaFiles, grant), eq(mediaFiles.kind, "marked"))).all().map((row) => row.photoId));
  return rows.map((row) => ({ ...row, isMarked: marked.has(row.photoId) }));
}

function answerTo(grant: ChildGrant<"child.read">, photoSetId: string): GivenAnswer | null {
  const row = database().select({ answer: answers, by: people.name }).from(answers).innerJoin(people, eq(people.id, answers.answeredBy))
    .where(and(own(answers, grant), eq(answers.photoSetId, photoSetId))).get();
  if (!row) return null;
  const { answer } = row;
  return {
    answerId: answer.id, kind: answer.kind, summary: answer.summary, nextStep: answer.nextStep, nextView: answer.nextView,
    answeredAt: answer.answeredAt, answeredBy: row.by,
    verdicts: database().select({ itemKey: verdicts.itemKey, verdict: verdicts.verdict, cue: verdicts.cue }).from(verdicts)
      .where(and(own(verdicts, grant), eq(verdicts.answerId, answer.id))).orderBy(asc(verdicts.sequence)).all(),
  };
}

/**
 * The newest answer's marked picture of a fault that is still open, to stand as "Not like this" beside
 * its cue; null when there is none. `openItems` are the items that stand at fix.
 */
export async function openFaultPicture(
  grant: ChildGrant<"child.read">, exerciseKey: string, openItems: readonly string[],
): Promise<(Picture & { readonly answeredAt: number }) | null> {
  const answered = (await historyOf(grant, exerciseKey)).filter((entry) => entry.voidReason === null && entry.answer?.kind === "answer");
  const [newest] = answered;
  const isStillOpen = newest?.answer?.verdicts.some((each) => each.verdict === "fix" && openItems.includes(each.itemKey)) ?? false;
  const picture = isStillOpen ? newest?.pictures.find((each) => each.isMarked) : undefined;
  return picture && newest?.answer ? { ...picture, answeredAt: newest.answer.answeredAt } : null;
}
