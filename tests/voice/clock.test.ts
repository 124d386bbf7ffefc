import { expect, test } from "vitest";
import { clock } from "@/lib/domain/words/clock";

test("a length as players show it: minutes, and seconds in two digits, cut and not rounded", () => {
  const shown = [[0, "0:00"], [999, "0:00"], [1000, "0:01"], [59_999, "0:59"], [60_000, "1:00"], [180_000, "3:00"], [-5, "0:00"]] as const;
  for (const [ms, text] of shown) expect(clock(ms)).toBe(text);
});
