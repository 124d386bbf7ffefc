import type { JudgedItemWithCue, SidesInForce } from "@/lib/domain/ledger/judged";
import { bySequence, fixRun, groupByItem, isJudgement, photosAtFix, standing, type Judgement } from "@/lib/domain/ledger/standing";
import type { ResolvedItem } from "@/lib/domain/setup/resolve";
import type { ItemState, Verdict } from "@/lib/domain/setup/vocabulary";

export type LedgerEntry = {
  readonly verdict: Verdict;
  readonly at: number;
  readonly by: string;
  readonly source: "answer" | "seen-live";
  /** False for a verdict that says nothing about now: not visible, other sides, an old photo after a stop. */
  readonly counts: boolean;
  readonly cue: string | null;
};

export type LedgerRow = {
  readonly itemKey: string;
  readonly isStop: boolean;
  /** Every verdict, oldest first. */
  readonly entries: readonly LedgerEntry[];
  readonly state: ItemState;
  /** When the verdict was given that brought the item into its state; null when it is not seen yet. */
  readonly stateSince: number | null;
  /** How many photo sets in a row, the newest included, needed it changed. */
  readonly photosAtFix: number;
  /** The newest verdict that counts; null when there is none. */
  readonly standsAt: Verdict | null;
  /** While the item stands at fix: the newest cue given for this fault, for the present sides. */
  readonly newestCue: { readonly text: string; readonly at: number } | null;
};

export type LedgerItem = Pick<ResolvedItem, "key" | "isStop" | "sideDependent">;

/**
 * One row an item, in the order given, for one child and one exercise. The counting of verdicts is
 * the go-ahead's own, so that a stop can never look settled here. `sides` null: no set-up confirmed.
 */
export function ledger(
  items: readonly LedgerItem[],
  judged: readonly JudgedItemWithCue[],
  sides: SidesInForce | null,
): readonly LedgerRow[] {
  const byItem = groupByItem(judged);
  return items.map((item) => row(item, byItem.get(item.key) ?? [], sides));
}

function row(item: LedgerItem, judged: readonly JudgedItemWithCue[], sides: SidesInForce | null): LedgerRow {
  const { counting, newest } = standing(judged, item, sides);
  const counts = new Set(counting);
  const judgements = counting.filter(isJudgement);
  const states = itemStates(judgements.map((each) => each.verdict));
  return {
    itemKey: item.key,
    isStop: item.isStop,
    entries: [...judged].sort(bySequence).map((each) => ({
      verdict: each.verdict,
      at: each.judgedAt,
      by: each.judgedBy,
      source: each.source,
      counts: counts.has(each),
      cue: each.cue,
    })),
    state: states.at(-1) ?? "not-seen-yet",
    stateSince: judgements[states.findLastIndex((each) => each !== states.at(-1)) + 1]?.judgedAt ?? null,
    photosAtFix: photosAtFix(counting),
    standsAt: newest?.verdict ?? null,
    newestCue: newestCue(counting, item.sideDependent ? sides : null),
  };
}

/**
 * Two `in-place` in a row settle an item; a fix after that makes it slipped, until two in a row
 * settle it again. Pass the judgements that count, oldest first.
 */
export const itemState = (judgements: readonly Judgement[]): ItemState => itemStates(judgements).at(-1) ?? "not-seen-yet";

/** The state after each of the judgements. */
export function itemStates(judgements: readonly Judgement[]): readonly ItemState[] {
  let state: ItemState = "not-seen-yet";
  let inARow = 0;
  return judgements.map((verdict) => {
    inARow = verdict === "in-place" ? inARow + 1 : 0;
    if (inARow >= 2) state = "settled";
    else if (verdict === "fix" && state === "settled") state = "slipped";
    else if (state === "not-seen-yet") state = "working-on";
    return state;
  });
}

/**
 * Only from the run of fixes the item ends in: an older cue was about another fault. And never from
 * other sides: an open stop outlives a change of sides, but its words may name the wrong one.
 */
function newestCue(counting: readonly JudgedItemWithCue[], sides: SidesInForce | null): LedgerRow["newestCue"] {
  const given = fixRun(counting).flatMap((each) =>
    each.cue !== null && (sides === null || each.sidesKey === sides.key) ? [{ text: each.cue, at: each.judgedAt }] : [],
  );
  return given.at(-1) ?? null;
}

/** The items that stand at fix, stop items first, else in the ledger's order. */
export function openItems(rows: readonly LedgerRow[]): readonly LedgerRow[] {
  const open = rows.filter((each) => each.standsAt === "fix");
  return [...open.filter((each) => each.isStop), ...open.filter((each) => !each.isStop)];
}

/** When its items were judged, each moment once, oldest first. */
export const judgedAt = (rows: readonly Pick<LedgerRow, "entries">[]): readonly number[] => [...new Set(rows.flatMap(({ entries }) => entries.map(({ at }) => at)))].sort((a, b) => a - b);
