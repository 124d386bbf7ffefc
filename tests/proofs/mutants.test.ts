import { expect, test } from "vitest";
import { mutants } from "@/tests/proofs/mutants";

// The short part of `npm run prove -- mutants`: the errors that could hurt a child are put into copies of the domain.
test("no vital error in the domain goes unnoticed by its tests", async () => {
  const { figures, losses } = await mutants({ more: 0, seed: 1, tell: () => {} });
  expect(losses).toEqual([]);
  expect(figures).toMatchObject({ tried: 12, killed: 12, survived: 0 });
}, 300_000);
