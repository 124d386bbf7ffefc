import "server-only";
import { z } from "zod";
import type { CodeFor } from "@/lib/access/mailed-code";
import { keyedHash, seal, unseal } from "@/lib/access/sealed";

/** A code mailed to an address that somebody wants to sign in with: it counts for that address, in the session that asked, and for nothing else. */
export const newAddressOf = (personId: string, sessionId: string, address: string): CodeFor =>
  ({ whose: keyedHash("new-address", personId), bound: `${sessionId}:${address}:`, act: "address.changed" });

const Asked = z.object({ personId: z.string(), address: z.string() });

/** What was asked for, as an address of a page carries it: readable to nobody, and to no log. */
export const sealAsked = (personId: string, address: string): string => seal("new-address", JSON.stringify({ personId, address }));

/** The address that this person asked for; null for anything else. */
export function askedIn(sealed: string, personId: string): string | null {
  const opened = unseal("new-address", sealed);
  const asked = opened === null ? null : Asked.parse(JSON.parse(opened));
  return asked?.personId === personId ? asked.address : null;
}
