import "server-only";
import { eq } from "drizzle-orm";
import { z } from "zod";
import type { Database, Transaction } from "@/db/client";
import { pushPhones } from "@/db/schema/reach";
import { keyedHash, seal, unseal } from "@/lib/access/sealed";

/** Where to push and under which keys (RFC 8291, 2.1). Secret: never logged, sealed at rest. */
export type PushAddress = { readonly endpoint: string; readonly p256dh: string; readonly auth: string };

const Stored = z.object({ endpoint: z.string(), p256dh: z.string(), auth: z.string() });

export const endpointHash = (endpoint: string): string => keyedHash("push", endpoint);
export const sealAddress = (address: PushAddress): string => seal("push", JSON.stringify(address));

/** Null when it was not sealed here. */
export function openAddress(sealed: string): PushAddress | null {
  const text = unseal("push", sealed);
  return text === null ? null : Stored.parse(JSON.parse(text));
}

/** The browsers of a person that are pushed to. */
export const phoneIdsOf = (tx: Transaction, personId: string): readonly string[] =>
  tx.select({ id: pushPhones.id }).from(pushPhones).where(eq(pushPhones.personId, personId)).all().map(({ id }) => id);

/** Ends one browser's pushes, with what waits for it. */
export function forgetPhone(db: Database | Transaction, id: string): void {
  db.delete(pushPhones).where(eq(pushPhones.id, id)).run();
}

/** Ends the pushes to a browser when it is somebody else's than who signs in there now. */
export function forgetPhoneOfOthers(tx: Transaction, id: string, personId: string): boolean {
  const row = tx.select({ personId: pushPhones.personId }).from(pushPhones).where(eq(pushPhones.id, id)).get();
  if (row?.personId === personId) return false;
  forgetPhone(tx, id);
  return true;
}

/** Ends every push to a person, with what waits: part of ending their access. */
export function forgetPhonesOf(tx: Transaction, personId: string): void {
  tx.delete(pushPhones).where(eq(pushPhones.personId, personId)).run();
}
