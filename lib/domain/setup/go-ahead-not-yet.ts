import type { GoAheadFacts } from "@/lib/domain/setup/go-ahead-facts";
import type { Reason } from "@/lib/domain/setup/go-ahead-reasons";
import type { Phase } from "@/lib/domain/setup/vocabulary";

/** What is missing before this phase may be done at all. */
export function notYetReasons(facts: GoAheadFacts, phase: Phase, nowMs: number): readonly Reason[] {
  const { record, setup } = facts;
  const confirmed = { since: setup?.confirmedAt ?? null, by: setup?.confirmedBy ?? null };
  const reasons: Reason[] = [];
  if (facts.notCovered || setup?.coverage === "not-covered") reasons.push({ code: "not-covered", since: null, by: null });
  if (record === null) reasons.push({ code: "no-record", since: null, by: null });
  // `reassessBy` is the end of its day; a value that is not a number must not read as "in time".
  if (record !== null && record.reassessBy !== null && !(nowMs < record.reassessBy)) {
    reasons.push({ code: "reassessment-past", since: record.reassessBy, by: null });
  }
  if (record !== null && setup !== null && setup.recordId !== record.id) {
    reasons.push({ code: "record-changed", ...confirmed });
  }
  if (confirmed.since === null) reasons.push({ code: "setup-not-confirmed", since: null, by: null });
  if (setup !== null && !setup.phases.includes(phase)) {
    reasons.push({ code: "phase-absent", ...confirmed });
  } else if (!facts.phasesOpened.some((opened) => opened.phase === phase)) {
    reasons.push({ code: "phase-not-opened", since: null, by: null });
  }
  return reasons;
}
