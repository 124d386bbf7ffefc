import "server-only";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { nextInQueue, type QueueRow } from "@/lib/records/queue";

/** Where one row of the queue is answered. */
export const rowAddress = ({ kind, childId, id }: Pick<QueueRow, "kind" | "childId" | "id">): string => `/desk/children/${childId}/${kind === "question" ? "questions" : "sets"}/${id}`;

/** Where the one that comes after this photo set or question in the queue is answered, or the queue when no other waits. */
export async function nextOne(actor: Actor, id: string, now: number): Promise<string> {
  const next = await nextInQueue(await grant(actor, "queue.read", null), id, now);
  return next ? rowAddress(next) : "/desk";
}
