import { goAhead, type GoAhead } from "@/lib/domain/setup/go-ahead";
import type { GoAheadFacts } from "@/lib/domain/setup/go-ahead-facts";
import { strongest } from "@/lib/domain/setup/go-ahead-reasons";
import { PHASES, type GoAheadState, type Phase } from "@/lib/domain/setup/vocabulary";

export type PhaseToday = { readonly phase: Phase; readonly isOpen: boolean; readonly goAhead: GoAhead };

export type Today = {
  readonly phases: readonly PhaseToday[];
  /** The newest opened phase, or the first: the one a family practises. */
  readonly current: PhaseToday;
  /** The strongest go-ahead of the opened phases. */
  readonly overall: GoAheadState;
};

/** What may be done now with one exercise, phase by phase. `judge` is the go-ahead, or one that knows more reasons. */
export function todayOf(facts: GoAheadFacts, now: number, judge: typeof goAhead = goAhead): Today {
  const phases = phasesOf(facts).map((phase) => ({ phase, isOpen: isOpened(facts, phase), goAhead: judge(facts, phase, now) }));
  const [first] = phases;
  if (!first) throw new Error("an exercise has at least one phase");
  const opened = phases.filter((each) => each.isOpen);
  return {
    phases,
    current: opened.at(-1) ?? first,
    overall: strongest((opened.length > 0 ? opened : [first]).map((each) => each.goAhead.state)),
  };
}

/** The overall go-ahead alone, for lists: phases that are not open are not judged. */
export function overallOf(facts: GoAheadFacts, now: number): GoAheadState {
  const phases = phasesOf(facts);
  const opened = phases.filter((phase) => isOpened(facts, phase));
  return strongest((opened.length > 0 ? opened : phases.slice(0, 1)).map((phase) => goAhead(facts, phase, now).state));
}

const phasesOf = ({ setup }: GoAheadFacts): readonly Phase[] => setup?.phases ?? PHASES.slice(0, 1);
const isOpened = ({ phasesOpened }: GoAheadFacts, phase: Phase): boolean => phasesOpened.some((opening) => opening.phase === phase);

/** The phase whose go-ahead is the overall one, for its reasons. */
export const decidingPhase = ({ phases, current, overall }: Today): PhaseToday =>
  phases.find((each) => each.isOpen && each.goAhead.state === overall) ?? current;
