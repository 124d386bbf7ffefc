import "server-only";
import type { Transaction } from "@/db/client";
import { notices } from "@/db/schema/machinery";
import { seal } from "@/lib/access/sealed";

/** What only one mail needs; sealed until it is sent, then emptied. */
export type NoticeValues = { readonly code?: string; readonly key?: string };

/** One outgoing mail, in the transaction of the act that causes it. The same key is sent once. */
export function addNotice(
  tx: Transaction,
  notice: {
    readonly kind: string;
    readonly personId: string;
    readonly dedupeKey: string;
    readonly values?: NoticeValues;
    /** Epoch ms. */
    readonly now: number;
  },
): void {
  const { kind, personId, dedupeKey, values, now } = notice;
  tx.insert(notices).values({
    id: crypto.randomUUID(), kind, personId, dedupeKey, createdAt: now, nextTryAt: now,
    ...(values ? { sealedValues: seal("notice", JSON.stringify(values)) } : {}),
  }).onConflictDoNothing().run();
}
