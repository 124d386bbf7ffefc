import "server-only";
import { and, desc, eq, gt } from "drizzle-orm";
import { auditEntries } from "@/db/schema/machinery";
import type { Actor } from "@/lib/access/actor";
import { appendAudit } from "@/lib/audit/append";
import { writeReading } from "@/lib/audit/reading";

/** A player asks again and again while it plays and seeks; so much later it is another time. */
const SAME_MS = 30 * 60_000;
/** Looked through for the same one, so that a long chain costs nothing; past it there is one entry more. */
const RECENT_ENTRIES = 1000;

/** Writes down that somebody played a note or a clip, once however many ranges the player asks for. For lib/records alone. */
export function recordPlayed({ actor, familyId }: { readonly actor: Actor; readonly familyId: string }, act: "voice-note.heard" | "clip.viewed", objectId: string, now: number): void {
  writeReading((tx) => {
    const newest = tx.select({ sequence: auditEntries.sequence }).from(auditEntries).orderBy(desc(auditEntries.sequence)).limit(1).get();
    const known = tx.select({ sequence: auditEntries.sequence }).from(auditEntries).where(and(
      gt(auditEntries.sequence, (newest?.sequence ?? 0) - RECENT_ENTRIES), gt(auditEntries.at, now - SAME_MS), eq(auditEntries.act, act),
      eq(auditEntries.objectId, objectId), eq(auditEntries.sessionHash, actor.sessionId),
    )).limit(1).get();
    if (known) return;
    appendAudit(tx, {
      at: now, actorId: actor.personId, role: actor.role, act, objectId, familyId, outcome: "done", requestId: actor.requestId, sessionHash: actor.sessionId,
    });
  });
}
