import { MINUTE_MS } from "@/lib/domain/time/local";
import { dueAt, isOpen, nextOpening } from "@/lib/domain/time/working-time";
import { versionAt } from "@/lib/domain/time/spans";
import type { CalendarHistory, Pause, Promised } from "@/lib/domain/time/working-week";
import { offsetAt } from "@/lib/domain/time/zone";

/** What a family may be told about when an answer comes. Instants are UTC ms. */
export type Expectation =
  /** Nobody can say: no hours are set, or none are to come. */
  | { readonly is: "unknown" }
  /** The family was asked something: the clock stands still until it has answered. */
  | { readonly is: "paused" }
  /** `opensAt`: the next opening, where the practice is closed now and opens before that. */
  | { readonly is: "by"; readonly by: number; readonly opensAt: number | null }
  | { readonly is: "late"; readonly by: number };

const QUARTER_MS = 15 * MINUTE_MS;

/**
 * The honest expectation of an answer of a kind to what arrived then: the promise in force, on the practice's clock,
 * no more precise than a quarter of an hour, rounded to later. Late from that quarter on.
 */
export function expectation(history: CalendarHistory, kind: Promised, arrivedAt: number, now: number, pauses: readonly Pause[] = []): Expectation {
  if (pauses.some(({ until }) => until === null)) return { is: "paused" };
  const due = dueAt(history, kind, arrivedAt, pauses);
  const zone = versionAt(history, arrivedAt)?.zone;
  if (due === null || zone === undefined) return { is: "unknown" };
  const offset = offsetAt(due, zone);
  const by = Math.ceil((due + offset) / QUARTER_MS) * QUARTER_MS - offset;
  if (by < now) return { is: "late", by };
  const opensAt = isOpen(history, now) ? null : nextOpening(history, now);
  return { is: "by", by, opensAt: opensAt !== null && opensAt < by ? opensAt : null };
}
