import "server-only";
import { desc } from "drizzle-orm";
import type { Transaction } from "@/db/client";
import { auditEntries } from "@/db/schema/machinery";
import { chainHash, FIRST_HASH, type AuditEntry } from "@/lib/audit/entry";
import { markSoon } from "@/lib/audit/mark";

/** Appends to the chain, inside the transaction of the act it records. */
export function appendAudit(tx: Transaction, entry: AuditEntry): void {
  const last = tx.select({ hash: auditEntries.hash }).from(auditEntries)
    .orderBy(desc(auditEntries.sequence)).limit(1).get();
  const previousHash = last?.hash ?? FIRST_HASH;
  tx.insert(auditEntries).values({ ...entry, previousHash, hash: chainHash(previousHash, entry) }).run();
  markSoon();
}
