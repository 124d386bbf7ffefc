import { and, eq, isNotNull } from "drizzle-orm";
import type { Database } from "@/db/client";
import { people, practices } from "@/db/schema/practice";
import { passkeys, totpSecrets } from "@/db/schema/sign-in";
import { invitationAddress, NO_ADDRESS, openInvitation } from "@/lib/access/invitation";

/**
 * The single-use address through which a practice's first lead sets up their sign-in, good for a day;
 * null once a lead has a second factor. Makes the practice and the lead in a new folder; each start
 * until then withdraws the address before.
 */
export async function createLeadInvitation(db: Database, now: Date): Promise<string | null> {
  const at = now.getTime();
  return db.transaction((tx) => {
    const isSetUp = tx.select({ id: people.id }).from(people).innerJoin(passkeys, eq(passkeys.personId, people.id)).where(eq(people.role, "lead")).get()
      ?? tx.select({ id: people.id }).from(people).innerJoin(totpSecrets, eq(totpSecrets.personId, people.id))
        .where(and(eq(people.role, "lead"), isNotNull(totpSecrets.confirmedAt))).get();
    if (isSetUp) return null;
    const lead = tx.select({ id: people.id }).from(people).where(eq(people.role, "lead")).get() ?? { id: makePractice() };
    return invitationAddress(openInvitation(tx, lead.id, null, at).key);

    function makePractice(): string {
      const practiceId = crypto.randomUUID();
      const personId = crypto.randomUUID();
      tx.insert(practices).values({ id: practiceId, name: "", timeZone: "UTC", createdAt: at }).run();
      tx.insert(people).values({ id: personId, practiceId, role: "lead", email: NO_ADDRESS, name: "", createdAt: at }).run();
      return personId;
    }
  }, { behavior: "immediate" });
}
