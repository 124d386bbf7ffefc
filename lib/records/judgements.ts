import "server-only";
import type { Transaction } from "@/db/client";
import { verdicts } from "@/db/schema/answers";
import type { GivenVerdict } from "@/lib/domain/answering/check-answer";
import type { ResolvedItem } from "@/lib/domain/setup/resolve";
import type { ChildRef } from "@/lib/records/child-facts";

/** By item: what an earlier version of the same answer said, when and by whom. */
export type Kept = ReadonlyMap<string, { readonly verdict: GivenVerdict["verdict"]; readonly judgedAt: number; readonly judgedBy: string }>;

export type JudgedFrom = {
  readonly source: { readonly answerId: string } | { readonly seenLiveId: string };
  readonly exerciseKey: string;
  readonly items: readonly ResolvedItem[];
  readonly sidesKey: string;
  /** When the child was seen so, epoch ms; null when nobody can prove it. */
  readonly evidenceAt: number | null;
  readonly by: string;
  /** A verdict that says the same as before was judged then, not now. */
  readonly kept?: Kept;
};

/** Appends verdicts in checklist order. For lib/records alone, inside the act that they belong to. */
export function insertVerdicts(tx: Transaction, ref: ChildRef, given: readonly GivenVerdict[], from: JudgedFrom, now: number): void {
  for (const item of from.items) {
    const verdict = given.find((each) => each.itemKey === item.key);
    if (!verdict) continue;
    const before = from.kept?.get(item.key);
    const judged = before?.verdict === verdict.verdict ? before : { judgedAt: now, judgedBy: from.by };
    const words = verdict.cue?.trim() ?? "";
    const cue = verdict.verdict === "fix" && words !== "" ? words : null;
    tx.insert(verdicts).values({
      childId: ref.childId, familyId: ref.familyId, ...from.source, exerciseKey: from.exerciseKey, itemKey: item.key,
      isStop: item.isStop, verdict: verdict.verdict, cue, cueId: cue === null ? null : verdict.cueId,
      sidesKey: from.sidesKey, evidenceAt: from.evidenceAt, judgedBy: judged.judgedBy, judgedAt: judged.judgedAt,
    }).run();
  }
}
