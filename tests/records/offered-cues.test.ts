import { expect, it } from "vitest";
import { chosenAgain } from "@/app/desk/children/[childId]/sets/[photoSetId]/offered-cues";
import { joined } from "@/lib/domain/words/cue";
import { resolve } from "@/lib/domain/setup/resolve";
import { SIDE_LYING } from "@/lib/domain/setup/side-lying";
import { curve, RECORD } from "@/tests/domain/curve-record-scene";
import type { LibraryCue } from "@/lib/records/cues";

const found = resolve(SIDE_LYING, { ...RECORD, regions: { ...RECORD.regions, thoracic: curve("right", "T8"), lumbar: curve("left", "L2") } });
if (found.coverage === "not-covered") throw new Error("the double curve is covered");
const { setup } = found;
const cue = (words: string, change: Partial<LibraryCue> = {}): readonly LibraryCue[] =>
  [{ id: "lift", itemKey: "elbow-high", words, shipped: null, version: 1, isRetired: false, changedAt: null, changedBy: null, timesUsed: 0, ...change }];
const read = (words: string) => ({ "verdict.elbow-high": "fix", "cue.elbow-high": "lift", "words.elbow-high": words });

it("chooses the cue of an earlier answer again, and takes what follows it as own words", () => {
  const library = cue("Lift the {top arm side} elbow");
  expect(chosenAgain(library, setup, read("Lift the RIGHT elbow"))).toEqual({ "verdict.elbow-high": "fix", "cue.elbow-high": "lift" });
  expect(chosenAgain(library, setup, read(joined("Lift the RIGHT elbow", "Higher.")))).toEqual({ "verdict.elbow-high": "fix", "cue.elbow-high": "lift", "words.elbow-high": "Higher." });
  expect(chosenAgain(cue("Lift the {top arm side} elbow", { isRetired: true }), setup, read("Lift the RIGHT elbow"))).toHaveProperty(["cue.elbow-high"], "lift");
});

it("keeps what was read as own words when the library says something else by now, or knows no such cue", () => {
  for (const library of [cue("Raise the {top arm side} elbow."), cue("Lift"), [], cue("Lift the {top arm side} elbow", { itemKey: "head-neck" })]) {
    expect(chosenAgain(library, setup, read("Lift the RIGHT elbow. Higher."))).toEqual({ "verdict.elbow-high": "fix", "words.elbow-high": "Lift the RIGHT elbow. Higher." });
  }
});
