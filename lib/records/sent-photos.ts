import "server-only";
import { and, eq, exists, isNotNull, isNull, or, sql, type Placeholder, type SQL } from "drizzle-orm";
import { database } from "@/db/client";
import { answerPairs, answers, marks } from "@/db/schema/answers";
import { photos } from "@/db/schema/photos";
import { inForce } from "@/lib/records/in-force";

/**
 * A photo that a family sent. Whatever reads or counts photos asks for this, or means moments of clips too: pictures
 * that a therapist took, which answer nothing, prove no side and count nowhere. A contract test looks at each reader.
 */
export const isFamilys = isNull(photos.momentOf);
export const isMoment = isNotNull(photos.momentOf);

/** A moment of the row around it that an answer holds, by its marks or in a pair; `which` says which answers count. */
export function isHeldBy(which: SQL | undefined): SQL | undefined {
  const inAnswer = (table: typeof marks | typeof answerPairs, match: SQL | undefined) =>
    exists(database().select({ one: sql`1` }).from(table).innerJoin(answers, eq(answers.id, table.answerId)).where(and(eq(table.childId, photos.childId), match, which)));
  return or(inAnswer(marks, eq(marks.photoId, photos.id)), inAnswer(answerPairs, or(eq(answerPairs.thenPhotoId, photos.id), eq(answerPairs.nowPhotoId, photos.id))));
}

/** What a family may see: its own photos, and moments that an answer in force shows it. */
export const isForFamily = (now: number | Placeholder): SQL | undefined => or(isFamilys, isHeldBy(inForce(now)));
