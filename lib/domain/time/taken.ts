import type { TakenAt } from "@/lib/domain/photo/taken-at";
import { instantOf } from "@/lib/domain/time/local";

/** A camera's clock without a zone is read as the family's own. */
export function instantTaken(taken: TakenAt | null, zone: string): number | null {
  if (taken === null || taken.zoneKnown) return taken?.at ?? null;
  const date = new Date(taken.at).toISOString().slice(0, 10);
  return instantOf(date, (taken.at - Date.parse(`${date}T00:00:00Z`)) / 60_000, zone);
}
