import "server-only";
import type { Actor } from "@/lib/access/actor";
import type { ChildGrant } from "@/lib/access/grant";
import { dueAt, isOpen, nextOpening } from "@/lib/domain/time/working-time";
import { readCalendar } from "@/lib/records/calendar";

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
