import "server-only";
import { and, eq, isNull, ne } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { people } from "@/db/schema/practice";
import { invitations, sessions, signInCodes } from "@/db/schema/sign-in";
import { normalisedAddress } from "@/lib/access/address";
import type { SelfGrant } from "@/lib/access/grant";
import { spendCode, writeCode } from "@/lib/access/mailed-code";
import { askedIn, newAddressOf, sealAsked } from "@/lib/access/new-address";
import { keyedHash } from "@/lib/access/sealed";
import { appendAudit } from "@/lib/audit/append";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { addNotice } from "@/lib/notices/add";

/** At which address this person signs in and is reached. */
export async function ownAddress(grant: SelfGrant<"address.read">): Promise<string> {
  return addressOf(database(), grant.actor.personId);
}

/** What was asked for here, to be said on the page that waits for the code; null when nothing was. */
export async function askedAddress(grant: SelfGrant<"address.read">, sealed: string): Promise<string | null> {
  return askedIn(sealed, grant.actor.personId);
}

/**
 * Mails a code to an address that this person wants to sign in with. To one that somebody here has already nothing goes, and
 * the answer is the same: nobody learns who has an account. Refused: `address-invalid`, `address-own`, `proofs-asked-often`.
 */
export async function askForAddress(grant: SelfGrant<"address.change">, typed: string, now: number): Promise<Result<{ readonly asked: string }>> {
  const { personId, sessionId } = grant.actor;
  const address = normalisedAddress(typed);
  if (address === null) return refuse("address-invalid", { field: "address" });
  return database().transaction((tx) => {
    if (addressOf(tx, personId) === address) return refuse("address-own", { field: "address" });
    const made = writeCode(tx, newAddressOf(personId, sessionId, address), { networkHash: null, personId }, now);
    if (!made) return refuse("proofs-asked-often");
    if (!isTaken(tx, address)) addNotice(tx, { kind: "address-code", personId, dedupeKey: `address-code:${made.id}`, values: { code: made.code, to: address }, now });
    return ok({ asked: sealAsked(personId, address) });
  }, { behavior: "immediate" });
}

/**
 * From now on they sign in and are reached there. Codes and invitations sent to the old address work no more, every other sign-in
 * ends, and the old address is told. A wrong code counts as one of a sign-in does, and stays counted.
 */
export async function takeAddress(grant: SelfGrant<"address.change">, { asked, code }: { readonly asked: string; readonly code: string }, now: number): Promise<Result<null>> {
  const { personId, sessionId, role, requestId } = grant.actor;
  const address = askedIn(asked, personId);
  if (address === null) return refuse("form-invalid");
  const what = newAddressOf(personId, sessionId, address);
  return database().transaction((tx) => {
    const spent = spendCode(tx, what, code, now);
    if (!spent.ok) return spent.problem.code === "code-closed" ? refuse("proof-closed", { field: "code" }) : spent;
    if (isTaken(tx, address)) return refuse("address-taken");
    const before = addressOf(tx, personId);
    tx.update(people).set({ email: address }).where(eq(people.id, personId)).run();
    tx.update(signInCodes).set({ replacedAt: now }).where(and(eq(signInCodes.addressHash, keyedHash("address", before)), isNull(signInCodes.replacedAt))).run();
    tx.update(invitations).set({ revokedAt: now }).where(and(eq(invitations.personId, personId), isNull(invitations.usedAt), isNull(invitations.revokedAt))).run();
    tx.update(sessions).set({ endedAt: now }).where(and(eq(sessions.personId, personId), ne(sessions.tokenHash, sessionId), isNull(sessions.endedAt))).run();
    addNotice(tx, { kind: "address-changed", personId, dedupeKey: `address-changed:${crypto.randomUUID()}`, values: { to: before }, now });
    appendAudit(tx, { at: now, actorId: personId, role, act: what.act, objectId: personId, familyId: null, outcome: "done", requestId, sessionHash: sessionId });
    return ok(null);
  }, { behavior: "immediate" });
}

const isTaken = (tx: Transaction, address: string): boolean => tx.select({ id: people.id }).from(people).where(eq(people.email, address)).get() !== undefined;

function addressOf(db: Pick<Transaction, "select">, personId: string): string {
  const person = db.select({ email: people.email }).from(people).where(eq(people.id, personId)).get();
  if (!person) throw new Error("the person is missing");
  return person.email;
}
