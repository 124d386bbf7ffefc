import type { Pause } from "@/lib/domain/time/working-week";

/** When a therapist asked the family about an unanswered photo set, and what ended the waiting. UTC ms. */
export type BackQuestionTimes = { readonly askedAt: number; readonly repliedAt: number | null; readonly withdrawnAt: number | null };

/** Nothing ended it yet: neither the family's words nor the therapist. The answer to its photo set ends it too. */
export const isWaiting = ({ repliedAt, withdrawnAt }: BackQuestionTimes): boolean => repliedAt === null && withdrawnAt === null;

/**
 * While the practice waits on the family: from each question until the family's words, its withdrawal or the answer
 * that was sent without waiting for them. `answeredAt` is null while the photo set waits.
 */
export const pausesOf = (asked: readonly BackQuestionTimes[], answeredAt: number | null): readonly Pause[] =>
  asked.map(({ askedAt, repliedAt, withdrawnAt }) => {
    const end = Math.min(repliedAt ?? Infinity, withdrawnAt ?? Infinity, answeredAt ?? Infinity);
    return { from: askedAt, until: end === Infinity ? null : Math.max(askedAt, end) };
  });
