import type { JudgedItem } from "@/lib/domain/ledger/judged";
import { standing } from "@/lib/domain/ledger/standing";
import type { GoAheadFacts } from "@/lib/domain/setup/go-ahead-facts";
import type { Reason } from "@/lib/domain/setup/go-ahead-reasons";

/**
 * Why the child must stop: open symptoms (urgent before the rest), stops the therapist placed, stop
 * items at fix; the newest first within each. No verdict and no photo clears a symptom.
 */
export function stopReasons(
  facts: GoAheadFacts,
  byItem: ReadonlyMap<string, readonly JudgedItem[]>,
): readonly Reason[] {
  const symptoms = facts.symptomStops
    .filter((stop) => stop.clearedAt === null)
    .map((stop) => ({
      code: stop.tier === "urgent" ? ("symptom-urgent" as const) : ("symptom-today" as const),
      since: stop.reportedAt,
      by: null,
      stopId: stop.id,
    }))
    .sort((a, b) => Number(b.code === "symptom-urgent") - Number(a.code === "symptom-urgent") || b.since - a.since);
  const placed = facts.staffStops
    .filter((stop) => stop.liftedAt === null)
    .filter((stop) => stop.exerciseKey === null || stop.exerciseKey === facts.exerciseKey)
    .map((stop) => ({ code: "staff-stop" as const, since: stop.placedAt, by: stop.placedBy, stopId: stop.id }))
    .sort((a, b) => b.since - a.since);
  return [...symptoms, ...placed, ...itemStops(facts, byItem)];
}

/** Over every item ever judged, not the set-up's alone: an open stop outlives its set-up. */
function itemStops(
  { setup }: GoAheadFacts,
  byItem: ReadonlyMap<string, readonly JudgedItem[]>,
): readonly Reason[] {
  return [...byItem]
    .flatMap(([itemKey, verdicts]) => {
      const isStop = setup?.items.some((item) => item.key === itemKey && item.isStop) ?? false;
      const { openStop } = standing(verdicts, { isStop, sideDependent: true }, setup?.sides ?? null);
      return openStop
        ? [{ code: "stop-item-fix" as const, since: openStop.judgedAt, by: openStop.judgedBy, itemKey }]
        : [];
    })
    .sort((a, b) => b.since - a.since);
}
