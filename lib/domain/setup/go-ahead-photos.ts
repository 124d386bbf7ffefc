import type { JudgedItem } from "@/lib/domain/ledger/judged";
import { bySequence, isJudgement, knownEvidence, type Standing } from "@/lib/domain/ledger/standing";
import type { GoAheadFacts, GoAheadItem } from "@/lib/domain/setup/go-ahead-facts";
import type { Reason } from "@/lib/domain/setup/go-ahead-reasons";
import type { Phase } from "@/lib/domain/setup/vocabulary";

/** An item that counts for the phase, with what its verdicts amount to. */
export type StandingItem = { readonly item: GoAheadItem; readonly at: Standing<JudgedItem> };

const WEEK_MS = 7 * 24 * 60 * 60 * 1000;

/**
 * Why a photo (or being seen live) comes before any practice. Nothing for a phase that does not
 * exist: there is no set-up to photograph.
 */
export function photoFirstReasons(
  facts: GoAheadFacts,
  phase: Phase,
  counting: readonly StandingItem[],
  nowMs: number,
): readonly Reason[] {
  if (facts.setup === null || !facts.setup.phases.includes(phase)) return [];
  const opened = newestOpening(facts, phase);
  const from = { since: opened?.openedAt ?? null, by: opened?.openedBy ?? null };
  const neverInPlace = counting
    .filter(({ item, at }) => item.isStop && !at.counting.some((judged) => judged.verdict === "in-place"))
    .map(({ item }) => ({ code: "stop-item-never-in-place" as const, ...from, itemKey: item.key }));
  const neverJudged = counting
    .filter(({ item, at }) => item.requiredForGo && at.newest?.verdict !== "not-part" && !at.counting.some(isJudgement))
    .map(({ item }) => ({ code: "required-never-judged" as const, ...from, itemKey: item.key }));
  const judged = judgements(counting);
  // The first phase's own photo is what the two rules above ask for.
  const ownPhoto =
    phase === "position" || opened === undefined || judged.some((each) => isOfPhase(each, opened.openedAt))
      ? []
      : [{ code: "phase-never-photographed" as const, ...from }];
  return [...neverInPlace, ...neverJudged, ...ownPhoto, ...longAgo(facts, judged, nowMs)];
}

/**
 * A later phase, newly opened, rests on a picture of that phase: taken after the opening or, where
 * nobody knows when, judged after it. The answer that opened it is of the same instant: too early.
 */
const isOfPhase = (judged: JudgedItem, openedAt: number): boolean =>
  (knownEvidence(judged) ?? judged.judgedAt) > openedAt;

/** Weeks are of 168 hours: a clock change may move the limit by an hour, which harms nobody. */
function longAgo(facts: GoAheadFacts, judged: readonly JudgedItem[], nowMs: number): readonly Reason[] {
  const newest = newestOf(judged);
  // Written so that a setting that is not a number asks for a photo.
  if (newest && nowMs - newest.judgedAt < facts.photoWeeks * WEEK_MS) return [];
  return [{ code: "nothing-judged-lately", since: newest?.judgedAt ?? null, by: newest?.judgedBy ?? null }];
}

/** Items at fix that are not stop items. */
export const itemFixReasons = (counting: readonly StandingItem[]) =>
  counting.flatMap(({ item, at }) =>
    at.newest?.verdict === "fix" && at.openStop === null
      ? [{ code: "item-fix" as const, since: at.newest.judgedAt, by: at.newest.judgedBy, itemKey: item.key }]
      : [],
  );

/** Only when nothing else holds: every required item then stands in place. */
export function inPlaceReason(counting: readonly StandingItem[]): Reason {
  const newest = newestOf(judgements(counting));
  return { code: "all-in-place", since: newest?.judgedAt ?? null, by: newest?.judgedBy ?? null };
}

const judgements = (counting: readonly StandingItem[]): readonly JudgedItem[] =>
  counting.flatMap(({ at }) => at.counting.filter(isJudgement));

const newestOf = (judged: readonly JudgedItem[]): JudgedItem | undefined =>
  [...judged].sort(bySequence).at(-1);

const newestOpening = ({ phasesOpened }: GoAheadFacts, phase: Phase) =>
  phasesOpened
    .filter((opened) => opened.phase === phase)
    .sort((a, b) => a.openedAt - b.openedAt)
    .at(-1);
