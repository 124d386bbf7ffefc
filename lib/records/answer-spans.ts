import "server-only";
import { and, asc, inArray } from "drizzle-orm";
import { database } from "@/db/client";
import { answerSpans } from "@/db/schema/answers";
import type { ClipSpan } from "@/lib/domain/clip/span";
import { own, type ChildRef } from "@/lib/records/child-facts";
import { grouped } from "@/lib/records/grouped";

export type GivenSpan = ClipSpan & { readonly photoId: string };

/** The parts of clips that each of these answers has its family repeat. For lib/records alone: the caller has the grant. */
export function spansOf(ref: ChildRef, answerIds: readonly string[]): ReadonlyMap<string, readonly GivenSpan[]> {
  const rows = database().select({ answerId: answerSpans.answerId, photoId: answerSpans.photoId, fromMs: answerSpans.fromMs, toMs: answerSpans.toMs }).from(answerSpans)
    .where(and(own(answerSpans, ref), inArray(answerSpans.answerId, [...answerIds]))).orderBy(asc(answerSpans.photoId)).all();
  return new Map([...grouped(rows, ({ answerId }) => answerId)].map(([id, of]) => [id, of.map(({ answerId: _answerId, ...span }) => span)]));
}
