import { expect, it, vi } from "vitest";
import { once } from "@/lib/domain/once";

it("works once for each key, whatever comes of it", () => {
  const work = vi.fn((name: string) => (name === "nobody" ? null : name.length));
  const known = once(work);
  expect(["ada", "nobody", "ada", "nobody", "berta"].map(known)).toEqual([3, null, 3, null, 5]);
  expect(work.mock.calls.map(([name]) => name)).toEqual(["ada", "nobody", "berta"]);
});

it("takes things as the same whose keys are", () => {
  const work = vi.fn(({ child, at }: { readonly child: string; readonly at: number }) => `${child} ${at}`);
  const known = once(work, ({ child }) => child);
  expect([{ child: "ada", at: 1 }, { child: "ada", at: 2 }, { child: "berta", at: 3 }].map(known)).toEqual(["ada 1", "ada 1", "berta 3"]);
});

it("keeps nothing of what failed", () => {
  const work = vi.fn().mockImplementationOnce(() => { throw new Error("busy"); }).mockReturnValue("read");
  const known = once(work);
  expect(() => known("ada")).toThrow("busy");
  expect(known("ada")).toBe("read");
});
