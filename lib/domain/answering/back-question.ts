import type { Pause } from "@/lib/domain/time/working-week";

/** When a therapist asked the family about an unanswered photo set, and what ended the waiting. UTC ms. */
export type BackQuestionTimes = { readonly askedAt: number; readonly repliedAt: number | null; readonly withdrawnAt: number | null; /** When a new photo set came in the place of words. */ readonly newPhotoAt: number | null };

/** Nothing ended it yet: neither the family's words, a new photo, nor the therapist. The answer to its photo set ends it too. */
export const isWaiting = ({ repliedAt, withdrawnAt, newPhotoAt }: BackQuestionTimes): boolean => repliedAt === null && withdrawnAt === null && newPhotoAt === null;

/**
 * While the practice waits on the family: from each question until the family's words or new photo, its withdrawal or the
 * answer that was sent without waiting for them. `answeredAt` is null while the photo set waits.
 */
export const pausesOf = (asked: readonly BackQuestionTimes[], answeredAt: number | null): readonly Pause[] =>
  asked.map(({ askedAt, repliedAt, withdrawnAt, newPhotoAt }) => {
    const end = Math.min(repliedAt ?? Infinity, withdrawnAt ?? Infinity, newPhotoAt ?? Infinity, answeredAt ?? Infinity);
    return { from: askedAt, until: end === Infinity ? null : Math.max(askedAt, end) };
  });

/** What a photo set says of its own time. Instants UTC ms. */
export type NewSet = {
  /** When the parent pressed: a set may have waited on the phone. */
  readonly saidAt: number;
  /** Null where nobody knows, or only that it was before that day. */
  readonly takenAt: number | null;
};

/**
 * Whether a new set of the same child and exercise takes the place of words: only where it was taken and sent after the
 * question was asked. One that lay on the phone meanwhile, an older picture, or one whose time nobody knows shows nothing
 * of what was asked, and the question goes on waiting.
 */
export const takesPlaceOfWords = ({ saidAt, takenAt }: NewSet, askedAt: number): boolean => saidAt > askedAt && takenAt !== null && takenAt > askedAt;
