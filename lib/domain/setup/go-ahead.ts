import type { JudgedItem } from "@/lib/domain/ledger/judged";
import { groupByItem, standing } from "@/lib/domain/ledger/standing";
import type { GoAheadFacts } from "@/lib/domain/setup/go-ahead-facts";
import { notYetReasons } from "@/lib/domain/setup/go-ahead-not-yet";
import { inPlaceReason, itemFixReasons, photoFirstReasons, type StandingItem } from "@/lib/domain/setup/go-ahead-photos";
import { REASON_STATE, type Reason } from "@/lib/domain/setup/go-ahead-reasons";
import { stopReasons } from "@/lib/domain/setup/go-ahead-stops";
import { PHASES, type GoAheadState, type Phase } from "@/lib/domain/setup/vocabulary";

export type GoAhead = {
  readonly state: GoAheadState;
  /** Never empty; strongest first; reasons weaker than the state are listed too. */
  readonly reasons: readonly Reason[];
  /** Items at fix that are not stop items, in the order to work on them. */
  readonly fixes: readonly string[];
  /** The first three of them: more than three cues at once are not followed. */
  readonly firstFixes: readonly string[];
  /** The date and the person of the strongest reason; null where nobody has decided anything. */
  readonly decidedAt: number | null;
  readonly decidedBy: string | null;
  /** Consent withdrawn: show "Photo checks are off" beside the state; nothing can be sent. */
  readonly photoChecksOff: boolean;
};

/**
 * What may be done now with one phase of one exercise. Strongest wins, all reasons are listed.
 *
 * Which items count for a phase: its own and those of every earlier phase, because a phase is done
 * lying in the position the earlier ones built; this is never weaker than the phase alone. An open
 * stop counts for every phase of the exercise, and without a set-up too: a child on the wrong side
 * is on the wrong side in each of them, and a stop whose set-up has gone is still a stop.
 */
export function goAhead(facts: GoAheadFacts, phase: Phase, nowMs: number): GoAhead {
  const byItem = groupByItem(facts.verdicts);
  const counting = countingItems(facts, phase, byItem);
  const judged = [
    ...stopReasons(facts, byItem),
    ...notYetReasons(facts, phase, nowMs),
    ...photoFirstReasons(facts, phase, counting, nowMs),
    ...itemFixReasons(counting),
  ];
  const reasons = judged.length > 0 ? judged : [inPlaceReason(counting)];
  const fixes = itemFixReasons(counting).map((reason) => reason.itemKey);
  const [strong] = reasons;
  return {
    state: strong ? REASON_STATE[strong.code] : "not-yet",
    reasons,
    fixes,
    firstFixes: fixes.slice(0, 3),
    decidedAt: strong?.since ?? null,
    decidedBy: strong?.by ?? null,
    photoChecksOff: facts.photoConsent === "withdrawn",
  };
}

/** In the order to work on them: earlier phases first, then checklist order. */
function countingItems(
  { setup }: GoAheadFacts,
  phase: Phase,
  byItem: ReadonlyMap<string, readonly JudgedItem[]>,
): readonly StandingItem[] {
  if (setup === null || !setup.phases.includes(phase)) return [];
  const upTo = PHASES.slice(0, PHASES.indexOf(phase) + 1);
  return upTo.flatMap((each) =>
    setup.items
      .filter((item) => item.phase === each)
      .map((item) => ({ item, at: standing(byItem.get(item.key) ?? [], item, setup.sides) })),
  );
}
