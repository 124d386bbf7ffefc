import "server-only";
import { and, eq } from "drizzle-orm";
import type { Transaction } from "@/db/client";
import { answerOpenings, answerPairs, answers, answerSpans, drafts, marks, readBacks, seenLive, staffStops, stoppedItems, verdicts } from "@/db/schema/answers";
import { careAgreements, careLinks, consents, curveRecords, phaseOpenings, practiceDays, setups } from "@/db/schema/care";
import { clips } from "@/db/schema/clips";
import { erasureRequests, quarantines } from "@/db/schema/erasure";
import { childExports } from "@/db/schema/exports";
import { mediaFiles, photoDecisions, photoSets, photos, symptomClearances, symptomReports } from "@/db/schema/photos";
import { backQuestions, questions, replies } from "@/db/schema/questions";
import { photoAsks, sessionPlaces } from "@/db/schema/sessions";
import { sideCards } from "@/db/schema/teaching";
import { voiceNotes } from "@/db/schema/voice";
import type { ChildRef } from "@/lib/records/child-facts";

/** Every table whose rows are one child's, by `child_id`; a test holds the list to the database. */
export const CHILD_TABLES = [
  answerOpenings, answerPairs, answers, answerSpans, backQuestions, careAgreements, careLinks, childExports, clips, consents, curveRecords, drafts, erasureRequests, marks, mediaFiles, phaseOpenings, photoAsks,
  photoDecisions, photoSets, photos, practiceDays, quarantines, questions, readBacks, replies, seenLive, sessionPlaces, setups, sideCards, staffStops, stoppedItems,
  symptomClearances, symptomReports, verdicts, voiceNotes,
] as const;

/** Every id of a row of this child's, and its card numbers: what notices and remembered answers may name. */
export function idsIn(tx: Transaction, ref: ChildRef): ReadonlySet<string> {
  const ids = new Set<string>([ref.childId]);
  for (const table of CHILD_TABLES) {
    if (!("id" in table)) continue;
    for (const { id } of tx.select({ id: table.id }).from(table).where(and(eq(table.childId, ref.childId), eq(table.familyId, ref.familyId))).all()) ids.add(id);
  }
  for (const { number } of tx.select({ number: sideCards.number }).from(sideCards).where(eq(sideCards.childId, ref.childId)).all()) ids.add(number);
  return ids;
}
