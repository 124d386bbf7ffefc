import { describe, expect, it } from "vitest";
import { monthGrid, monthsBetween } from "@/lib/domain/time/month-grid";

describe("a month as a grid", () => {
  it("begins weeks on Monday and leaves other months out", () => {
    // Checked against cal(1) of util-linux, `cal -m 2 2026` and `cal -m 3 2026`.
    expect(monthGrid("2026-02").weeks.map((week) => week.map((day) => (day === null ? 0 : Number(day.slice(8)))))).toEqual([
      [0, 0, 0, 0, 0, 0, 1], [2, 3, 4, 5, 6, 7, 8], [9, 10, 11, 12, 13, 14, 15], [16, 17, 18, 19, 20, 21, 22], [23, 24, 25, 26, 27, 28, 0],
    ]);
    expect(monthGrid("2026-03").weeks).toHaveLength(6);
    expect(monthGrid("2026-03").weeks.at(-1)).toEqual(["2026-03-30", "2026-03-31", null, null, null, null, null]);
  });

  it("holds every day once, leap day and the turn of a year too, as the host's own calendar says", () => {
    for (let at = 0; at < 60; at += 1) {
      const [year, month] = [2023 + Math.floor(at / 12), (at % 12) + 1];
      const name = `${year}-${String(month).padStart(2, "0")}`;
      const { weeks } = monthGrid(name);
      const days = weeks.flatMap((week, row) => week.flatMap((day, column) => (day === null ? [] : [{ day, row, column }])));
      expect(days.map(({ day }) => Number(day.slice(8)))).toEqual(Array.from({ length: new Date(Date.UTC(year, month, 0)).getUTCDate() }, (_none, n) => n + 1));
      expect(weeks.every((week) => week.length === 7 && week.some((day) => day !== null))).toBe(true);
      expect(days.every(({ day, column }) => (new Date(`${day}T00:00:00Z`).getUTCDay() + 6) % 7 === column)).toBe(true);
    }
  });

  it("goes back month by month over the turn of a year", () => {
    expect(monthsBetween("2025-11-30", "2026-02-01")).toEqual(["2026-02", "2026-01", "2025-12", "2025-11"]);
    expect(monthsBetween("2026-02-28", "2026-02-01")).toEqual(["2026-02"]);
  });
});
