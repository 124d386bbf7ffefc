import "server-only";
import { and, asc } from "drizzle-orm";
import { among, OF_CHILD, prepared } from "@/db/prepared";
import { answerSpans } from "@/db/schema/answers";
import type { ClipSpan } from "@/lib/domain/clip/span";
import { own, type ChildRef } from "@/lib/records/child-facts";
import { grouped } from "@/lib/records/grouped";

export type GivenSpan = ClipSpan & { readonly photoId: string };

const spansOfAnswers = prepared((db) => db.select({ answerId: answerSpans.answerId, photoId: answerSpans.photoId, fromMs: answerSpans.fromMs, toMs: answerSpans.toMs }).from(answerSpans)
  .where(and(own(answerSpans, OF_CHILD), among(answerSpans.answerId, "answerIds"))).orderBy(asc(answerSpans.photoId)).prepare());

/** The parts of clips that each of these answers has its family repeat. For lib/records alone: the caller has the grant. */
export function spansOf({ childId, familyId }: ChildRef, answerIds: readonly string[]): ReadonlyMap<string, readonly GivenSpan[]> {
  const rows = spansOfAnswers().all({ childId, familyId, answerIds: JSON.stringify(answerIds) });
  return new Map([...grouped(rows, ({ answerId }) => answerId)].map(([id, of]) => [id, of.map(({ answerId: _answerId, ...span }) => span)]));
}
