import "server-only";
import type { Transaction } from "@/db/client";
import { notices } from "@/db/schema/machinery";
import { seal } from "@/lib/access/sealed";
import { hasOwnWords, type NoticeKind } from "@/lib/domain/notices/kinds";
import { phoneIdsOf } from "@/lib/notices/phones";

/** What only one mail needs; sealed until it is sent, then emptied. */
export type NoticeValues = {
  readonly code?: string; readonly key?: string;
  /** Where it goes instead of to the person's own address: one that is to become it, or was it until now. */
  readonly to?: string;
};

/** One outgoing mail, and a push to each of the person's phones, in the transaction of the act that causes it. The same key is sent once. */
export function addNotice(
  tx: Transaction,
  notice: {
    readonly kind: NoticeKind;
    readonly personId: string;
    readonly dedupeKey: string;
    readonly values?: NoticeValues;
    /** Epoch ms. */
    readonly now: number;
    /** Not sent before this instant; `now` without it. */
    readonly from?: number;
  },
): void {
  const { kind, personId, dedupeKey, values, now, from = now } = notice;
  const row = { kind, personId, createdAt: now, nextTryAt: from };
  tx.insert(notices).values({
    ...row, id: crypto.randomUUID(), dedupeKey, ...(values ? { sealedValues: seal("notice", JSON.stringify(values)) } : {}),
  }).onConflictDoNothing().run();
  if (hasOwnWords(kind)) return;
  for (const phoneId of phoneIdsOf(tx, personId)) {
    tx.insert(notices).values({ ...row, id: crypto.randomUUID(), phoneId, dedupeKey: `${dedupeKey}:${phoneId}` }).onConflictDoNothing().run();
  }
}
