/** Whether anybody knows that the backups can be put back: not before it was tried, and not for ever after. */
export type RestoreTrial = "never" | "old" | "good";

/** It is to be tried once a month; a few days of grace. */
const OLD_MS = 35 * 86_400_000;

export function restoreTrial(triedAt: number | null, now: number): RestoreTrial {
  if (triedAt === null) return "never";
  // A moment to come is a clock that was set back since.
  return Math.abs(now - triedAt) > OLD_MS ? "old" : "good";
}
