import "server-only";
import { eq } from "drizzle-orm";
import { database } from "@/db/client";
import { people } from "@/db/schema/practice";
import type { Role } from "@/lib/domain/policy/policy";

/** The role of a person who just showed a first proof; the session looks again when it opens. */
export function roleOf(personId: string): Role {
  const person = database().select({ role: people.role }).from(people).where(eq(people.id, personId)).get();
  if (!person) throw new Error("a proven person is missing");
  return person.role;
}
