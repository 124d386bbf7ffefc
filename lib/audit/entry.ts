import "server-only";
import { createHash } from "node:crypto";

/** Who did what to which object. Ids only: never names, addresses, words typed, tokens or health data. */
export type AuditEntry = {
  readonly at: number;
  readonly actorId: string | null;
  readonly role: string | null;
  readonly act: string;
  readonly objectId: string | null;
  readonly familyId: string | null;
  readonly outcome: "done" | "refused";
  readonly requestId: string | null;
  readonly sessionHash: string | null;
};

export const FIRST_HASH = "0".repeat(64);

/** SHA-256 over the hash before and the entry's values in a fixed order. */
export function chainHash(previousHash: string, entry: AuditEntry): string {
  const values = [
    previousHash, entry.at, entry.actorId, entry.role, entry.act, entry.objectId,
    entry.familyId, entry.outcome, entry.requestId, entry.sessionHash,
  ];
  return createHash("sha256").update(JSON.stringify(values)).digest("hex");
}
