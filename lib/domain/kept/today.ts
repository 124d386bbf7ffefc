import { openReadBacks, type AskedReadBack, type OpenReadBack, type ReadBackTry } from "@/lib/domain/answering/read-back";
import type { KeptChild, KeptExercise, OfflineReport, OnPhone } from "@/lib/domain/kept/kept";
import { goAhead, type GoAhead } from "@/lib/domain/setup/go-ahead";
import type { GoAheadFacts } from "@/lib/domain/setup/go-ahead-facts";
import { REASON_STATE, type Reason } from "@/lib/domain/setup/go-ahead-reasons";
import { todayOf, type Today } from "@/lib/domain/setup/today";

const DAY_MS = 24 * 60 * 60 * 1000;
/** So long after the server last answered, what is kept says nothing any more. */
export const KEPT_DAYS = 21;

/**
 * Today's go-ahead from what is kept: the server's own function on the same facts, with what was
 * reported on this phone since, and with what only a phone has to doubt.
 */
export function keptToday(exercise: KeptExercise, childId: string, onPhone: OnPhone, reports: readonly OfflineReport[], phoneNow: number): Today {
  const doubts = doubtsOf(onPhone, phoneNow);
  return todayOf(factsWith(exercise.facts, childId, reports), nowOf(onPhone, phoneNow), (facts, phase, now) => doubted(goAhead(facts, phase, now), doubts));
}

/** The questions still to be answered rightly, with the answers given on this phone. A stop of this phone's own is asked about once it has arrived. */
export const keptReadBacks = (child: KeptChild, tries: readonly ReadBackTry[]): readonly (OpenReadBack & AskedReadBack)[] =>
  openReadBacks(child.exercises.map(({ facts, sides }) => ({ facts, judged: facts.verdicts, sides })), [...child.tries, ...tries]);

/** Since what was kept, as the phone counts, and never earlier than its own clock: time alone never brings a child nearer to `go`. */
function nowOf({ kept, keptAt }: OnPhone, phoneNow: number): number {
  return Math.max(phoneNow, kept.checkedAt + (phoneNow - keptAt));
}

function doubtsOf(onPhone: OnPhone, phoneNow: number): readonly Reason[] {
  const { kept, keptAt, seenAt } = onPhone;
  const since = kept.checkedAt;
  return [
    // Written so that a clock that is no number is in doubt.
    ...(phoneNow >= Math.max(keptAt, seenAt) ? [] : [{ code: "clock-behind" as const, since, by: null }]),
    ...(nowOf(onPhone, phoneNow) - since <= KEPT_DAYS * DAY_MS ? [] : [{ code: "not-checked-lately" as const, since, by: null }]),
  ];
}

const factsWith = (facts: GoAheadFacts, childId: string, reports: readonly OfflineReport[]): GoAheadFacts => ({
  ...facts,
  symptomStops: [
    ...facts.symptomStops,
    ...reports.filter((report) => report.childId === childId)
      .map(({ key, tier, writtenAt }) => ({ id: key, tier, reportedAt: writtenAt, clearedAt: null })),
  ],
});

/** A stop stays the strongest; then the doubts, as the other reasons for `not-yet`. */
function doubted(judged: GoAhead, doubts: readonly Reason[]): GoAhead {
  const [first] = doubts;
  if (!first) return judged;
  const stops = judged.reasons.filter(({ code }) => REASON_STATE[code] === "stop");
  const others = judged.reasons.filter(({ code }) => REASON_STATE[code] !== "stop" && code !== "all-in-place");
  const [strong = first] = stops;
  return {
    ...judged, state: REASON_STATE[strong.code], reasons: [...stops, ...doubts, ...others], decidedAt: strong.since, decidedBy: strong.by,
  };
}
