import { DAY_MS, MINUTE_MS } from "@/lib/domain/time/local";
import { offsetStretches } from "@/lib/domain/time/zone";

/** Minutes after midnight of the person's own day, 0 to 1439, past midnight when `from` is the later one. Never equal. */
export type QuietHours = { readonly from: number; readonly until: number };

/**
 * When the quiet hours that hold at an instant end (UTC ms), or null when none hold. Quiet is what the wall
 * clock says: an hour it repeats is quiet twice, one it skips never, and an end that was skipped is the jump.
 * Throws on an unknown zone.
 */
export function quietEnd(instant: number, zone: string, quiet: QuietHours): number | null {
  for (const stretch of offsetStretches(zone, instant, instant + 7 * DAY_MS)) {
    const start = Math.max(instant, stretch.from);
    const sinceMidnight = (((start + stretch.offset) % DAY_MS) + DAY_MS) % DAY_MS;
    if (!isQuiet(Math.floor(sinceMidnight / MINUTE_MS), quiet)) return start === instant ? null : start;
    const end = start + ((quiet.until * MINUTE_MS - sinceMidnight + DAY_MS) % DAY_MS);
    if (end < stretch.to) return end;
  }
  throw new RangeError("Quiet hours end within a day.");
}

const isQuiet = (minute: number, { from, until }: QuietHours): boolean =>
  from < until ? minute >= from && minute < until : minute >= from || minute < until;
