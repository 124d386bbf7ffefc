import "server-only";
import { and, asc, eq, isNotNull, isNull } from "drizzle-orm";
import { database } from "@/db/client";
import { people } from "@/db/schema/practice";
import type { Role } from "@/lib/domain/policy/policy";

/** Set by the starter from what the data folder is; a practice's folder never says so. */
export const isDemo = (): boolean => process.env["DEMO"] === "1";

export type DemoPerson = { readonly personId: string; readonly name: string; readonly role: Role };

/** The invented people the demo's sign-in page offers; nobody outside the demo. */
export function demoPeople(): readonly DemoPerson[] {
  if (!isDemo()) return [];
  return database().select({ personId: people.id, name: people.name, role: people.role }).from(people)
    .where(and(isNotNull(people.demoOrder), isNull(people.disabledAt))).orderBy(asc(people.demoOrder)).all();
}

export function demoPerson(personId: string): DemoPerson | null {
  if (!isDemo()) return null;
  return database().select({ personId: people.id, name: people.name, role: people.role }).from(people)
    .where(and(eq(people.id, personId), isNotNull(people.demoOrder), isNull(people.disabledAt))).get() ?? null;
}
