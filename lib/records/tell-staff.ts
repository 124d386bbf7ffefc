import "server-only";
import { and, eq, inArray, isNull } from "drizzle-orm";
import type { Transaction } from "@/db/client";
import { people } from "@/db/schema/practice";
import { addNotice } from "@/lib/notices/add";

export type StaffNotice = "symptom-urgent" | "symptom-today" | "photo-set-sent" | "read-back-wrong" | "question-asked" | "session-request";

/** One mail for each member of staff, in the transaction of the act it tells about. It names nobody. `nth`: which repetition, 0 the first mail. */
export function tellStaff(tx: Transaction, practiceId: string, kind: StaffNotice, objectId: string, now: number, nth = 0): void {
  const staff = tx.select({ id: people.id }).from(people)
    .where(and(eq(people.practiceId, practiceId), inArray(people.role, ["lead", "therapist"]), isNull(people.disabledAt))).all();
  for (const { id } of staff) {
    addNotice(tx, { kind, personId: id, dedupeKey: `${kind}:${objectId}:${id}${nth > 0 ? `:${nth}` : ""}`, now });
  }
}

/** The same for the practice's leads alone. */
export function tellLeads(tx: Transaction, practiceId: string, kind: "erasure-asked" | "photo-set-aside" | "retention-held" | "alarm", objectId: string, now: number): void {
  const leads = tx.select({ id: people.id }).from(people).where(and(eq(people.practiceId, practiceId), eq(people.role, "lead"), isNull(people.disabledAt))).all();
  for (const { id } of leads) addNotice(tx, { kind, personId: id, dedupeKey: `${kind}:${objectId}:${id}`, now });
}
