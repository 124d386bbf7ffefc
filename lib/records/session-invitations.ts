import "server-only";
import { and, eq, gt, isNull } from "drizzle-orm";
import { database } from "@/db/client";
import { groupSessions, sessionInvitations } from "@/db/schema/sessions";
import type { Actor } from "@/lib/access/actor";
import type { PracticeGrant } from "@/lib/access/grant";
import { publicUrl } from "@/lib/access/origin";
import { keyedHash, tokenHash } from "@/lib/access/sealed";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { DAY_MS } from "@/lib/domain/time/local";
import { act } from "@/lib/records/act";
import { readSession, type GroupSession } from "@/lib/records/group-sessions";

/** Days a session invitation may be open for. */
export const INVITATION_DAYS = [1, 3, 7, 14, 30] as const;

/** As with sign-in invitations: staff can be shown it again, and the database alone cannot give it away. */
const keyOf = (invitationId: string): string => keyedHash("session-invitation", invitationId);

export type SessionInvitation = { readonly invitationId: string; readonly address: string; readonly expiresAt: number };

/** The open invitation of a session with its address; null when there is none, or its time is over. */
export async function sessionInvitationOf(grant: PracticeGrant<"sessions.read">, sessionId: string, now: number): Promise<SessionInvitation | null> {
  const row = database().select({ invitationId: sessionInvitations.id, expiresAt: sessionInvitations.expiresAt }).from(sessionInvitations)
    .innerJoin(groupSessions, eq(groupSessions.id, sessionInvitations.sessionId))
    .where(and(eq(groupSessions.id, sessionId), eq(groupSessions.practiceId, grant.practiceId), isNull(sessionInvitations.revokedAt), gt(sessionInvitations.expiresAt, now))).get();
  return row ? { ...row, address: new URL(`/session?key=${keyOf(row.invitationId)}`, publicUrl()).href } : null;
}

/** A new address; the one before no longer works. Refused: `session-closed`. */
export async function makeSessionInvitation(grant: PracticeGrant<"sessions.write">, input: { readonly sessionId: string; readonly days: number }, now: number): Promise<Result<null>> {
  const id = crypto.randomUUID();
  return act(grant, "session-invitation.made", now, (tx) => {
    const session = tx.select({ closedAt: groupSessions.closedAt }).from(groupSessions)
      .where(and(eq(groupSessions.id, input.sessionId), eq(groupSessions.practiceId, grant.practiceId))).get();
    if (!session) return refuse("stale-version");
    if (session.closedAt !== null) return refuse("session-closed");
    tx.update(sessionInvitations).set({ revokedAt: now }).where(and(eq(sessionInvitations.sessionId, input.sessionId), isNull(sessionInvitations.revokedAt))).run();
    tx.insert(sessionInvitations).values({
      id, sessionId: input.sessionId, linkHash: tokenHash(keyOf(id)), createdBy: grant.actor.personId, createdAt: now, expiresAt: now + input.days * DAY_MS,
    }).run();
    return ok({ objectId: id, value: null });
  });
}

/** Refused: `stale-version` when it was taken back or replaced already. */
export async function revokeSessionInvitation(grant: PracticeGrant<"sessions.write">, input: { readonly sessionId: string; readonly invitationId: string }, now: number): Promise<Result<null>> {
  return act(grant, "session-invitation.revoked", now, (tx) => {
    const session = tx.select({ id: groupSessions.id }).from(groupSessions).where(and(eq(groupSessions.id, input.sessionId), eq(groupSessions.practiceId, grant.practiceId))).get();
    const revoked = session && tx.update(sessionInvitations).set({ revokedAt: now }).where(and(
      eq(sessionInvitations.id, input.invitationId), eq(sessionInvitations.sessionId, session.id), isNull(sessionInvitations.revokedAt),
    )).run();
    return revoked?.changes === 1 ? ok({ objectId: input.invitationId, value: null }) : refuse("stale-version");
  });
}

/** What whoever holds a working address learns before a child is chosen: no exercise, no pattern, nobody's name. */
export type Invited = Pick<GroupSession, "startsAt">;

/** Null alike for an address that is unknown, over, taken back, of a closed session or of another practice. */
export async function invitedTo(actor: Actor, key: string, now: number): Promise<Invited | null> {
  const session = readInvited(actor.practiceId, key, now);
  return session && { startsAt: session.startsAt };
}

/** For lib/records alone. */
export function readInvited(practiceId: string, key: string, now: number): GroupSession | null {
  const row = database().select({ sessionId: sessionInvitations.sessionId }).from(sessionInvitations)
    .where(and(eq(sessionInvitations.linkHash, tokenHash(key)), isNull(sessionInvitations.revokedAt), gt(sessionInvitations.expiresAt, now))).get();
  const session = row ? readSession(practiceId, row.sessionId, now) : null;
  return session?.closedAt === null ? session : null;
}
