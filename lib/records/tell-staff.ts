import "server-only";
import { and, eq, inArray, isNull } from "drizzle-orm";
import type { Transaction } from "@/db/client";
import { notices } from "@/db/schema/machinery";
import { people } from "@/db/schema/practice";

export type StaffNotice = "symptom-urgent" | "symptom-today" | "photo-set-sent" | "read-back-wrong";

/** One mail for each member of staff, in the transaction of the act it tells about. It names nobody. */
export function tellStaff(tx: Transaction, practiceId: string, kind: StaffNotice, objectId: string, now: number): void {
  const staff = tx.select({ id: people.id }).from(people)
    .where(and(eq(people.practiceId, practiceId), inArray(people.role, ["lead", "therapist"]), isNull(people.disabledAt))).all();
  for (const { id } of staff) {
    tx.insert(notices).values({
      id: crypto.randomUUID(), kind, personId: id, dedupeKey: `${kind}:${objectId}:${id}`, createdAt: now, nextTryAt: now,
    }).onConflictDoNothing().run();
  }
}
