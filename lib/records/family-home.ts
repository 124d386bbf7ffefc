import "server-only";
import { and, asc, eq, isNull } from "drizzle-orm";
import { database } from "@/db/client";
import { careLinks, children } from "@/db/schema/care";
import type { Actor } from "@/lib/access/actor";
import type { ChildGrant } from "@/lib/access/grant";
import { dueAt, isOpen, nextOpening } from "@/lib/domain/time/working-time";
import { readCalendar } from "@/lib/records/calendar";

export type OwnChild = { readonly childId: string; readonly familyId: string; readonly name: string };

/** The children this person's own care links name; the grant for each is still to be asked for. */
export function ownChildren(actor: Actor): readonly OwnChild[] {
  return database().select({ childId: children.id, familyId: children.familyId, name: children.givenName })
    .from(careLinks).innerJoin(children, and(eq(children.id, careLinks.childId), eq(children.familyId, careLinks.familyId)))
    .where(and(eq(careLinks.personId, actor.personId), isNull(careLinks.endedAt))).orderBy(asc(children.givenName)).all();
}

export type Opening = { readonly isOpenNow: boolean; readonly opensAt: number | null };

/** Whether the practice works now, and when it opens next; null when no hours are to come. */
export function openingFor(actor: Actor, now: number): Opening {
  const calendar = readCalendar(actor.practiceId);
  return { isOpenNow: isOpen(calendar, now), opensAt: nextOpening(calendar, now) };
}

/** By when to expect an answer to what was sent then; null when nobody can say. */
export async function expectedAnswer(grant: ChildGrant<"child.read">, sentAt: number): Promise<number | null> {
  return dueAt(readCalendar(grant.practiceId), sentAt);
}
