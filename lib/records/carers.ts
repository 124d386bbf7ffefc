import "server-only";
import { and, asc, eq, isNull } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { careLinks } from "@/db/schema/care";
import { notices } from "@/db/schema/machinery";
import { people } from "@/db/schema/practice";
import { own, type ChildRef } from "@/lib/records/child-facts";

export type Carer = { readonly personId: string; readonly name: string; readonly phone: string | null; readonly relation: "guardian" | "self" };

/** Who cares for this child today, and the number to call. For lib/records alone: the caller has the grant. */
export function readCarers(ref: ChildRef): readonly Carer[] {
  return database().select({ personId: people.id, name: people.name, phone: people.phone, relation: careLinks.relation })
    .from(careLinks).innerJoin(people, eq(people.id, careLinks.personId))
    .where(and(own(careLinks, ref), isNull(careLinks.endedAt), isNull(people.disabledAt))).orderBy(asc(people.name)).all();
}

export type CarerNotice = "answer" | "set-voided" | "stop-placed" | "stop-lifted" | "symptom-cleared" | "seen-live";

/** One mail for each carer, in the transaction of the act it tells about. It says no more than that there is news. */
export function tellCarers(tx: Transaction, ref: ChildRef, kind: CarerNotice, objectId: string, now: number): void {
  for (const { personId } of readCarers(ref)) {
    tx.insert(notices).values({
      id: crypto.randomUUID(), kind, personId, dedupeKey: `${kind}:${objectId}:${personId}`, createdAt: now, nextTryAt: now,
    }).onConflictDoNothing().run();
  }
}
