import "server-only";
import { and, asc, eq } from "drizzle-orm";
import { database } from "@/db/client";
import { answerSpans } from "@/db/schema/answers";
import type { ClipSpan } from "@/lib/domain/clip/span";
import { own, type ChildRef } from "@/lib/records/child-facts";

export type GivenSpan = ClipSpan & { readonly photoId: string };

/** The parts of clips that one answer has its family repeat. For lib/records alone: the caller has the grant. */
export const spansOf = (ref: ChildRef, answerId: string): readonly GivenSpan[] =>
  database().select({ photoId: answerSpans.photoId, fromMs: answerSpans.fromMs, toMs: answerSpans.toMs }).from(answerSpans)
    .where(and(own(answerSpans, ref), eq(answerSpans.answerId, answerId))).orderBy(asc(answerSpans.photoId)).all();
