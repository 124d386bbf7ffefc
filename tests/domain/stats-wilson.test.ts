import { describe, expect, it } from "vitest";
import checks from "@/tests/checks/wilson.json";
import { wilson, wilsonAt, type Interval } from "@/lib/domain/stats/wilson";

const near = (actual: Interval | null, expected: readonly number[], within: number) => {
  expect(Math.abs((actual?.lower ?? Number.NaN) - (expected[0] ?? Number.NaN))).toBeLessThanOrEqual(within);
  expect(Math.abs((actual?.upper ?? Number.NaN) - (expected[1] ?? Number.NaN))).toBeLessThanOrEqual(within);
};

describe("the interval of a share", () => {
  it.each(checks.cases)("$x of $n", (row) => {
    near(wilson(row.x, row.n), row[95], 1e-12);
    if (row[90]) near(wilson(row.x, row.n, 0.9), row[90], 1e-12);
    if (row[99]) near(wilson(row.x, row.n, 0.99), row[99], 1e-12);
    if (row.published95) near(wilson(row.x, row.n), row.published95, 5e-5);
  });

  it.each(checks.z196.map(([hits, misses, interval]) => ({ hits, misses, interval })))("$hits and $misses at z = 1.96", ({ hits, misses, interval }) => {
    near(wilsonAt(Number(hits), Number(hits) + Number(misses), 1.96), interval as number[], 1e-12); // a JSON row mixes kinds
  });

  it("has its closed forms exactly at both ends", () => {
    const square = 1.959963984540054 ** 2;
    for (const n of [1, 3, 7, 20, 29, 100, 1000]) {
      expect(wilson(0, n)).toEqual({ lower: 0, upper: square / (n + square) });
      expect(wilson(n, n)).toEqual({ lower: n / (n + square), upper: 1 });
    }
  });

  it("is none for nothing seen, and refuses what is no share", () => {
    expect(wilson(0, 0)).toBeNull();
    expect(() => wilson(2, 1)).toThrow(RangeError);
    expect(() => wilson(-1, 1)).toThrow(RangeError);
    expect(() => wilson(0.5, 1)).toThrow(RangeError);
  });
});
