import { DAY_MS } from "@/lib/domain/time/local";

/** Instants UTC ms. A session closed before it began does not take place. */
export type SessionTimes = { readonly startsAt: number; readonly closedAt: number | null };

export const SESSION_STAGES = ["upcoming", "open", "closed", "cancelled"] as const;
export type SessionStage = (typeof SESSION_STAGES)[number];

/** `open`: it has begun, and its photos are still asked for and looked at. */
export function stageOf({ startsAt, closedAt }: SessionTimes, now: number): SessionStage {
  if (closedAt !== null) return closedAt < startsAt ? "cancelled" : "closed";
  return now < startsAt ? "upcoming" : "open";
}

/** Null while nobody has decided. */
export type PlaceDecision = "taken-in" | "declined" | null;

/** How long after its beginning a family still reads how to join. Common practice, no source. */
const JOINING_MS = 4 * 3_600_000;

/**
 * Whether a family's first page still speaks of a session by itself, whatever photo is asked for: until it is over
 * for whoever comes, and for a day of whoever waited for a word, so that a called-off one is not missed.
 */
export function isSpokenOf(times: SessionTimes, decision: PlaceDecision, now: number): boolean {
  switch (stageOf(times, now)) {
    case "upcoming":
      return true;
    case "open":
      return decision === "taken-in" ? now < times.startsAt + JOINING_MS : decision === null && now < times.startsAt + DAY_MS;
    case "cancelled":
      return decision !== "declined" && now < times.startsAt + DAY_MS;
    case "closed":
      return false;
  }
}
