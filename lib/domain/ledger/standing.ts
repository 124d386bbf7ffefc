import type { JudgedItem, SidesInForce } from "@/lib/domain/ledger/judged";
import type { Verdict } from "@/lib/domain/setup/vocabulary";

/** How one item is to be read: as a stop item, and as one that starts again when the sides change. */
export type ItemReading = { readonly isStop: boolean; readonly sideDependent: boolean };

export type Standing<J extends JudgedItem> = {
  /** The verdicts that still say something, oldest first: never `not-visible`. */
  readonly counting: readonly J[];
  /** The newest of them: what the item stands at. */
  readonly newest: J | null;
  /** The newest stop that no later verdict has lifted. */
  readonly openStop: J | null;
};

export function groupByItem<J extends JudgedItem>(verdicts: readonly J[]): ReadonlyMap<string, readonly J[]> {
  const groups = new Map<string, J[]>();
  for (const judged of verdicts) {
    const group = groups.get(judged.itemKey);
    if (group) group.push(judged);
    else groups.set(judged.itemKey, [judged]);
  }
  return groups;
}

export const bySequence = (a: JudgedItem, b: JudgedItem): number => a.sequence - b.sequence;

/** When the child was seen as judged; null when unknown, or later than the judging (a wrong clock). */
export const knownEvidence = (judged: JudgedItem): number | null =>
  judged.evidenceAt !== null && judged.evidenceAt <= judged.judgedAt ? judged.evidenceAt : null;

/**
 * What one item's verdicts amount to. Pass the verdicts of that item alone, in any order.
 *
 * A stop stands until the same item is later `in-place` on a photo taken, or a child seen, after
 * the stop was judged. An `in-place` that does not lift an open stop says nothing about now and is
 * not counted; a stop item's `not-part` does not exist. Once the sides change, a side-dependent
 * item's earlier verdicts stop counting, an open stop excepted: nobody has seen the child lie
 * safely since, so it waits for its `in-place` under the new sides.
 */
export function standing<J extends JudgedItem>(
  verdicts: readonly J[],
  item: ItemReading,
  sides: SidesInForce | null,
): Standing<J> {
  const isStop = item.isStop || verdicts.some((judged) => judged.isStop);
  const said: J[] = [];
  let openStops: J[] = [];
  for (const judged of [...verdicts].sort(bySequence)) {
    if (judged.verdict === "not-visible" || (isStop && judged.verdict === "not-part")) continue;
    if (isStop && judged.verdict === "fix") openStops.push(judged);
    if (judged.verdict === "in-place" && !openStops.every((stop) => lifts(judged, stop))) continue;
    if (judged.verdict === "in-place") openStops = [];
    said.push(judged);
  }
  const counting = said.filter(
    (judged) => openStops.includes(judged) || !item.sideDependent || sides === null || isUnder(judged, sides),
  );
  return { counting, newest: counting.at(-1) ?? null, openStop: openStops.at(-1) ?? null };
}

const isUnder = (judged: JudgedItem, sides: SidesInForce): boolean =>
  judged.sidesKey === sides.key && judged.judgedAt >= sides.since;

/** Strictly after: a photo of the same instant may be the one the stop was judged from. */
function lifts(inPlace: JudgedItem, stop: JudgedItem): boolean {
  const seenAt = knownEvidence(inPlace);
  return seenAt !== null && seenAt > stop.judgedAt;
}

export type Judgement = Extract<Verdict, "in-place" | "fix">;

/** True for `in-place` and `fix`: somebody saw the item and judged it. */
export const isJudgement = <J extends JudgedItem>(judged: J): judged is J & { readonly verdict: Judgement } =>
  judged.verdict === "in-place" || judged.verdict === "fix";

/** The run of fixes that an item's counting verdicts end in, oldest first; empty when it does not stand at fix. */
export const fixRun = <J extends JudgedItem>(counting: readonly J[]): readonly J[] =>
  counting.slice(counting.findLastIndex((each) => each.verdict !== "fix") + 1);

/** How many photo sets in a row needed an item changed. What was seen live keeps a run going and is no photo. */
export const photosAtFix = (counting: readonly JudgedItem[]): number => fixRun(counting).filter((each) => each.source === "answer").length;
