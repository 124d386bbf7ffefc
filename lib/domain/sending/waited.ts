/** Nothing waits on a phone for longer; more than that, its clock was set. */
export const MOST_WAITED_MS = 366 * 86_400_000;

/** How long something has lain on the phone, in ms by its own clock, which somebody may set in between. */
export const waitedSince = (madeAt: number, now: number): number => Math.round(Math.min(Math.max(0, now - madeAt), MOST_WAITED_MS));
