import { and, eq, isNull } from "drizzle-orm";
import type { Database } from "@/db/client";
import { people } from "@/db/schema/practice";
import { normalisedAddress } from "@/lib/access/address";
import { clearSecondFactor } from "@/lib/access/clear-factor";
import { invitationAddress } from "@/lib/access/invitation";
import { appendAudit } from "@/lib/audit/append";

/**
 * For a practice lead who has lost every device and every recovery code: takes their second factor away and
 * gives the single-use address, good for a day, behind which they set up a new one. Null when no lead with
 * access has that mail address. Written down as an act of nobody signed in.
 */
export function resetLostLead(db: Database, email: string, now: Date): string | null {
  const at = now.getTime();
  const address = normalisedAddress(email);
  if (address === null) return null;
  return db.transaction((tx) => {
    const lead = tx.select({ id: people.id }).from(people)
      .where(and(eq(people.email, address), eq(people.role, "lead"), isNull(people.disabledAt))).get();
    if (!lead) return null;
    const { key } = clearSecondFactor(tx, lead.id, null, at);
    appendAudit(tx, {
      at, actorId: null, role: null, act: "second-factor.reset-at-machine", objectId: lead.id, familyId: null, outcome: "done", requestId: null, sessionHash: null,
    });
    return invitationAddress(key);
  }, { behavior: "immediate" });
}
