import "server-only";
import { randomUUID } from "node:crypto";
import { and, eq, gt, isNull } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { people, practices } from "@/db/schema/practice";
import { invitations } from "@/db/schema/sign-in";
import { publicUrl } from "@/lib/access/origin";
import { keyedHash, tokenHash } from "@/lib/access/sealed";
import { appendAudit } from "@/lib/audit/append";
import type { Role } from "@/lib/domain/policy/policy";
import { ok, refuse, type Result } from "@/lib/domain/result";

/** OWASP ASVS 5.0, 6.6.3 and NIST SP 800-63A-4, 3.8: at most a day by mail. */
export const INVITATION_LIFE_MS = 24 * 3_600_000;
/** No mail reaches it (RFC 2606): stands in until the first lead types their own address. */
export const NO_ADDRESS = "lead@practice.invalid";

/** Made from its id and the practice's key, so that staff can be shown it again and the database alone cannot give it away. */
export const invitationKey = (invitationId: string): string => keyedHash("invitation", invitationId);
export const invitationAddress = (key: string): string => new URL(`/join?key=${key}`, publicUrl()).href;

/** A new invitation; what was open for the same person before is withdrawn. */
export function openInvitation(tx: Transaction, personId: string, createdBy: string | null, now: number): { readonly id: string; readonly key: string } {
  withdrawInvitations(tx, personId, now);
  const id = randomUUID();
  const key = invitationKey(id);
  tx.insert(invitations).values({ id, personId, linkHash: tokenHash(key), createdBy, createdAt: now, expiresAt: now + INVITATION_LIFE_MS }).run();
  return { id, key };
}

export function withdrawInvitations(tx: Transaction, personId: string, now: number): void {
  tx.update(invitations).set({ revokedAt: now })
    .where(and(eq(invitations.personId, personId), isNull(invitations.usedAt), isNull(invitations.revokedAt))).run();
}

export type Invited = { readonly personId: string; readonly role: Role; readonly practiceName: string; readonly needsDetails: boolean };

/** Who a still open invitation is for; looking never uses it up. */
export function invitedBy(key: string, now: number): Invited | null {
  return database().transaction((tx) => readInvited(tx, key, now));
}

export type LeadDetails = { readonly name: string; readonly email: string; readonly practiceName: string; readonly timeZone: string };

/** Uses an invitation up. The first lead says who they are; everybody else is known. */
export function acceptInvitation(key: string, details: LeadDetails | null, now: number): Result<{ readonly personId: string; readonly role: Role }> {
  return database().transaction((tx) => {
    const invited = readInvited(tx, key, now);
    if (!invited) return refuse("link-spent");
    if (invited.needsDetails !== (details !== null)) return refuse("form-invalid");
    tx.update(invitations).set({ usedAt: now }).where(eq(invitations.linkHash, tokenHash(key))).run();
    if (details) {
      const { practiceId } = tx.update(people).set({ name: details.name, email: details.email })
        .where(eq(people.id, invited.personId)).returning({ practiceId: people.practiceId }).get();
      tx.update(practices).set({ name: details.practiceName, timeZone: details.timeZone }).where(eq(practices.id, practiceId)).run();
    }
    appendAudit(tx, {
      at: now, actorId: invited.personId, role: invited.role, act: "invitation.accepted", objectId: invited.personId, familyId: null,
      outcome: "done", requestId: null, sessionHash: null,
    });
    return ok({ personId: invited.personId, role: invited.role });
  }, { behavior: "immediate" });
}

function readInvited(tx: Transaction, key: string, now: number): Invited | null {
  const row = tx.select({ personId: people.id, role: people.role, email: people.email, practiceName: practices.name }).from(invitations)
    .innerJoin(people, eq(people.id, invitations.personId)).innerJoin(practices, eq(practices.id, people.practiceId))
    .where(and(
      eq(invitations.linkHash, tokenHash(key)), isNull(invitations.usedAt), isNull(invitations.revokedAt),
      gt(invitations.expiresAt, now), isNull(people.disabledAt),
    )).get();
  return row ? { personId: row.personId, role: row.role, practiceName: row.practiceName, needsDetails: row.email === NO_ADDRESS } : null;
}
