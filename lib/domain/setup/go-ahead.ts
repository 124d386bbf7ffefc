import type { GoAheadFacts } from "@/lib/domain/setup/go-ahead-facts";
import type { Reason } from "@/lib/domain/setup/go-ahead-reasons";
import type { GoAheadState, Phase } from "@/lib/domain/setup/vocabulary";

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

/** What may be done now with one phase of one exercise. */
export function goAhead(_facts: GoAheadFacts, _phase: Phase, _nowMs: number): GoAhead {
  return {
    state: "not-yet",
    reasons: [],
    fixes: [],
    firstFixes: [],
    decidedAt: null,
    decidedBy: null,
    photoChecksOff: false,
  };
}
