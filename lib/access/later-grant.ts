import "server-only";
import { randomUUID } from "node:crypto";
import { and, eq, isNull } from "drizzle-orm";
import { isHTTPAccessFallbackError } from "next/dist/client/components/http-access-fallback/http-access-fallback";
import { database } from "@/db/client";
import { people, practices } from "@/db/schema/practice";
import { grant, type GrantOf } from "@/lib/access/grant";
import { readerOf } from "@/lib/access/session-row";
import type { AbilityIn } from "@/lib/domain/policy/policy";

/**
 * The grant of somebody whose request is over and whose act goes on beside it: asked for anew, as good as their access is
 * now. Null when that ended. Whether they proved who they are was asked when they asked for the act.
 */
export async function laterGrant<A extends AbilityIn<"child">>(personId: string, ability: A, childId: string): Promise<GrantOf<A> | null> {
  const person = database().select({ practiceId: people.practiceId, role: people.role, name: people.name, language: people.language, ownZone: people.timeZone, zone: practices.timeZone })
    .from(people).innerJoin(practices, eq(practices.id, people.practiceId)).where(and(eq(people.id, personId), isNull(people.disabledAt))).get();
  if (!person) return null;
  const { practiceId, role, name } = person;
  const actor = { personId, practiceId, role, name, timeZone: person.ownZone ?? person.zone, reader: readerOf(person, "en"), sessionId: "", provedAt: null, requestId: randomUUID() };
  try {
    return await grant(actor, ability, childId);
  } catch (error) {
    if (isHTTPAccessFallbackError(error)) return null;
    throw error;
  }
}
