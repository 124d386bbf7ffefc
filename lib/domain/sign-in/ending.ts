const MINUTE_MS = 60_000;

/** WCAG 2.2, 2.2.1: whoever is about to be signed out is warned and has at least 20 seconds to stay by a simple act. Five minutes are ours. */
export const WARN_MS = 5 * MINUTE_MS;

/** How long a sign-in has left, ms, and whether one press makes it longer: its end as a whole cannot be moved. */
export type Ending = { readonly leftMs: number; readonly mayStay: boolean; readonly isOther?: boolean };

/** `other`: somebody else signed in here meanwhile. */
export type EndingStage = "quiet" | "soon" | "now" | "over" | "ended" | "other";

/** What the page says. `over`: it ends and no press helps; the last minute is said once more. */
export function stageOf({ leftMs, mayStay, isOther }: Ending): EndingStage {
  if (isOther) return "other";
  if (leftMs <= 0) return "ended";
  if (leftMs > WARN_MS) return "quiet";
  if (!mayStay) return "over";
  return leftMs > MINUTE_MS ? "soon" : "now";
}

/** Browsers count no longer than 24 days; a page that is open for half a day may well ask once. */
const LONGEST_MS = 12 * 60 * MINUTE_MS;

/** When to ask the server again; never sooner than a second, so that a clock that jumps asks no more often. Null once it is over. */
export function lookAfterMs({ leftMs, isOther }: Ending): number | null {
  if (leftMs <= 0 || isOther) return null;
  const until = leftMs > WARN_MS ? leftMs - WARN_MS : leftMs > MINUTE_MS ? leftMs - MINUTE_MS : leftMs;
  return Math.min(LONGEST_MS, Math.max(1000, until));
}

/** What a session with these limits has left. Staying is worth a press only where it gives more than the warning itself. */
export function endingOf({ idleEndsAt, wholeEndsAt }: { readonly idleEndsAt: number; readonly wholeEndsAt: number }, now: number): Ending {
  return { leftMs: Math.max(0, Math.min(idleEndsAt, wholeEndsAt) - now), mayStay: wholeEndsAt - now > WARN_MS };
}
