import * as fc from "fast-check";
import { describe, expect, test } from "vitest";
import { endingOf, lookAfterMs, stageOf, WARN_MS } from "@/lib/domain/sign-in/ending";

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const left = (leftMs: number, mayStay = true) => ({ leftMs, mayStay });

describe("the warning before a sign-in ends", () => {
  test("comes five minutes before, says the last minute once more, and knows its end", () => {
    expect([HOUR, WARN_MS + 1, WARN_MS, MINUTE + 1, MINUTE, 1, 0].map((ms) => stageOf(left(ms)))).toEqual(["quiet", "quiet", "soon", "soon", "now", "now", "ended"]);
  });

  test("offers no press that would not help", () => {
    expect(stageOf(left(WARN_MS, false))).toBe("over");
    expect(stageOf({ leftMs: 0, mayStay: false, isOther: true })).toBe("other");
  });

  // NIST SP 800-63B-4, 2.2.3: 24 hours in all, one unused; WCAG 2.2, 2.2.1: at least 20 seconds to stay.
  test("counts from the end that comes first, and lets stay where the day is not over", () => {
    expect(endingOf({ idleEndsAt: HOUR, wholeEndsAt: 24 * HOUR }, 55 * MINUTE)).toEqual({ leftMs: 5 * MINUTE, mayStay: true });
    expect(endingOf({ idleEndsAt: 24.5 * HOUR, wholeEndsAt: 24 * HOUR }, 23.95 * HOUR)).toEqual({ leftMs: 3 * MINUTE, mayStay: false });
    expect(endingOf({ idleEndsAt: HOUR, wholeEndsAt: 24 * HOUR }, 2 * HOUR).leftMs).toBe(0);
    expect(WARN_MS).toBeGreaterThan(20_000);
  });

  test("looked for when it says, a warning is never missed and nobody is asked in a loop", () => {
    fc.assert(fc.property(fc.integer({ min: 1, max: 90 * 24 * HOUR }), fc.boolean(), (start, mayStay) => {
      const seen = new Set<string>();
      let ms = start;
      for (let looks = 0; ms > 0; looks += 1) {
        const stage = stageOf(left(ms, mayStay));
        seen.add(stage);
        const after = lookAfterMs(left(ms, mayStay));
        expect(after).not.toBeNull();
        expect(after).toBeLessThanOrEqual(2 ** 31 - 1); // the longest that a browser's timer counts
        ms -= after ?? 0;
        expect(looks).toBeLessThan(200);
      }
      seen.add(stageOf(left(Math.max(0, ms), mayStay)));
      expect(seen.has("ended")).toBe(true);
      if (start > WARN_MS) expect(seen.has(mayStay ? "soon" : "over")).toBe(true);
    }));
    expect(lookAfterMs(left(0))).toBeNull();
  });
});
