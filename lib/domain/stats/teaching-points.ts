import { itemState } from "@/lib/domain/ledger/ledger";
import type { Judgement } from "@/lib/domain/ledger/standing";
import { kaplanMeier, survivalQuantile, type Observation, type SurvivalCurve, type SurvivalQuantile } from "@/lib/domain/stats/kaplan-meier";
import { share, type Share } from "@/lib/domain/stats/wilson";

/** One verdict on one item, from one of a child's photo sets of one exercise. */
export type PhotoVerdict = {
  readonly childId: string;
  readonly itemKey: string;
  readonly verdict: Judgement;
  /** Which of the child's judged photo sets it was, from 1, in the order they were sent. */
  readonly nth: number;
};

export type TeachingPoint = {
  readonly itemKey: string;
  /** Of the first photos judged, how many needed this item changed. One child counts once. */
  readonly first: Share;
  /** False under `ENOUGH`: then nothing is claimed, and nothing is ordered by it. */
  readonly isClaimed: boolean;
  /** Photo sets until settled; children for whom it is not settled yet are open. */
  readonly settling: { readonly curve: SurvivalCurve; readonly median: SurvivalQuantile };
  /** Of the children for whom it was settled, for how many it slipped afterwards. */
  readonly slips: Share;
};

/** Fewer first photos than this say nothing about a group (common practice, no source). */
export const ENOUGH = 5;

/**
 * What to teach again, one point an item, the surest need first: by the lower limit of the share that
 * needed a change, so that three photos never outrank thirty, and what is not claimed last. `first` asks
 * for a verdict on a child's very first judged set; an item that could not be seen in it is left out.
 */
export function teachingPoints(verdicts: readonly PhotoVerdict[]): readonly TeachingPoint[] {
  const tally = teachingTally();
  for (const ofChild of grouped(verdicts, (each) => each.childId).values()) tally.addChild(ofChild);
  return tally.points();
}

export type TeachingTally = { addChild(verdicts: readonly PhotoVerdict[]): void; points(): readonly TeachingPoint[] };

/** The same, one child's verdicts after another's, so that nobody has to hold all of them. */
export function teachingTally(): TeachingTally {
  const items = new Map<string, { readonly firsts: Judgement[]; readonly settling: Observation[]; readonly slipped: boolean[] }>();
  return {
    addChild(verdicts) {
      for (const [itemKey, said] of grouped(verdicts, (each) => each.itemKey)) {
        const item = items.get(itemKey) ?? { firsts: [], settling: [], slipped: [] };
        items.set(itemKey, item);
        const inOrder = said.toSorted((a, b) => a.nth - b.nth);
        const [first, last] = [inOrder.at(0), inOrder.at(-1)];
        if (first?.nth === 1) item.firsts.push(first.verdict);
        const settled = settledAt(inOrder);
        item.settling.push({ time: settled ?? last?.nth ?? 0, observed: settled !== null });
        if (settled !== null) item.slipped.push(inOrder.some(({ nth, verdict }) => nth > settled && verdict === "fix"));
      }
    },
    points: () => [...items].map(([itemKey, { firsts, settling, slipped }]) => {
      const first = share(firsts.filter((verdict) => verdict === "fix").length, firsts.length);
      const curve = kaplanMeier(settling);
      return {
        itemKey, first, isClaimed: first.of >= ENOUGH,
        settling: { curve, median: survivalQuantile(curve, 0.5) },
        slips: share(slipped.filter(Boolean).length, slipped.length),
      };
    }).sort(surestFirst),
  };
}

/** The photo set by which the ledger's own rule first calls the item settled; null while it does not. */
function settledAt(said: readonly PhotoVerdict[]): number | null {
  for (let length = 1; length <= said.length; length += 1) {
    // The rule looks at two in a row, so the last two tell whether it can hold.
    if (itemState(said.slice(Math.max(0, length - 2), length).map(({ verdict }) => verdict)) === "settled") return said[length - 1]?.nth ?? null;
  }
  return null;
}

function grouped<T>(all: readonly T[], keyOf: (each: T) => string): ReadonlyMap<string, readonly T[]> {
  const groups = new Map<string, T[]>();
  for (const each of all) {
    const group = groups.get(keyOf(each));
    if (group) group.push(each);
    else groups.set(keyOf(each), [each]);
  }
  return groups;
}

function surestFirst(a: TeachingPoint, b: TeachingPoint): number {
  if (a.isClaimed !== b.isClaimed) return a.isClaimed ? -1 : 1;
  return (b.first.interval?.lower ?? 0) - (a.first.interval?.lower ?? 0) || b.first.of - a.first.of;
}
