import "server-only";
import { createHash } from "node:crypto";
import { desc } from "drizzle-orm";
import type { Transaction } from "@/db/client";
import { auditEntries } from "@/db/schema/machinery";

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

/** Appends to the chain, inside the transaction of the act it records. */
export function appendAudit(tx: Transaction, entry: AuditEntry): void {
  const last = tx.select({ hash: auditEntries.hash }).from(auditEntries)
    .orderBy(desc(auditEntries.sequence)).limit(1).get();
  const previousHash = last?.hash ?? FIRST_HASH;
  tx.insert(auditEntries).values({ ...entry, previousHash, hash: chainHash(previousHash, entry) }).run();
}
