import "server-only";
import type { Transaction } from "@/db/client";
import { verdicts } from "@/db/schema/answers";
import type { GivenVerdict } from "@/lib/domain/answering/check-answer";
import type { ResolvedItem } from "@/lib/domain/setup/resolve";
import type { ChildRef } from "@/lib/records/child-facts";

export type JudgedFrom = {
  readonly source: { readonly answerId: string } | { readonly seenLiveId: string };
  readonly exerciseKey: string;
  readonly items: readonly ResolvedItem[];
  readonly sidesKey: string;
  /** When the child was seen so, epoch ms; null when nobody can prove it. */
  readonly evidenceAt: number | null;
  readonly by: string;
};

/** Appends verdicts in checklist order. For lib/records alone, inside the act that they belong to. */
export function insertVerdicts(tx: Transaction, ref: ChildRef, given: readonly GivenVerdict[], from: JudgedFrom, now: number): void {
  for (const item of from.items) {
    const verdict = given.find((each) => each.itemKey === item.key);
    if (!verdict) continue;
    const cue = verdict.cue?.trim() ?? "";
    tx.insert(verdicts).values({
      childId: ref.childId, familyId: ref.familyId, ...from.source, exerciseKey: from.exerciseKey, itemKey: item.key,
      isStop: item.isStop, verdict: verdict.verdict, cue: verdict.verdict === "fix" && cue !== "" ? cue : null,
      sidesKey: from.sidesKey, evidenceAt: from.evidenceAt, judgedBy: from.by, judgedAt: now,
    }).run();
  }
}
