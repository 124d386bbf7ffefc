import { describe, expect, test } from "vitest";
import { checkSummary, SIDE_DOWN } from "@/lib/domain/answering/check-answer";
import { proposeNextStep, proposeSummary, type Judged, type ProposalWords } from "@/lib/domain/answering/propose";
import { SIDE_LYING } from "@/lib/domain/setup/side-lying";
import { resolve } from "@/lib/domain/setup/resolve";
import { VERDICTS, type Verdict } from "@/lib/domain/setup/vocabulary";
import { opposite, SIDES, type Side } from "@/lib/domain/sides";
import { typedSides } from "@/lib/domain/words/typed-sides";
import { proposalWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/words";
import { curve, RECORD } from "@/tests/domain/curve-record-scene";

const WORDS: ProposalWords = {
  sideRight: "On the LEFT, as it should be.", sideWrong: "Stop. Lie on the LEFT.", sideUnseen: "Side not seen. Lie on the LEFT.",
  stop: "Stop until: {words}", change: "Change: {words}", notYet: "Not yet: {items}.", restInPlace: "The rest is in place.", unseen: "Not seen: {items}.",
};
const item = (itemKey: string, verdict: Verdict | null, words = "", isStop = itemKey === SIDE_DOWN): Judged =>
  ({ itemKey, title: `Title of ${itemKey}`, isStop, isAsked: true, verdict, words });

describe("the proposed summary", () => {
  test("is silent until the side down is judged", () => {
    expect(proposeSummary([item(SIDE_DOWN, null), item("elbow-high", "fix")], WORDS)).toBeNull();
  });

  test("says the side, the change with its cue, and that the rest is in place", () => {
    const judged = [item(SIDE_DOWN, "in-place"), item("head-neck", "in-place"), item("elbow-high", "fix", "Lift your elbow")];
    expect(proposeSummary(judged, WORDS)).toBe("On the LEFT, as it should be. Change: Lift your elbow. The rest is in place.");
  });

  test("never says that the rest is in place while an asked item is unjudged", () => {
    const judged = [item(SIDE_DOWN, "in-place"), item("head-neck", null), item("elbow-high", "in-place")];
    expect(proposeSummary(judged, WORDS)).toBe("On the LEFT, as it should be.");
  });

  test("a wrong side and a wrong prop both begin with stop", () => {
    const judged = [item(SIDE_DOWN, "fix", "Turn over."), item("prop-low-back", "fix", "", true)];
    expect(proposeSummary(judged, WORDS)).toBe("Stop. Lie on the LEFT. Turn over. Stop until: Title of prop-low-back.");
  });

  test("ends own words before the next sentence, and says nothing kind beside a stop", () => {
    const judged = [item(SIDE_DOWN, "fix", "Turn over"), item("prop-low-back", "fix", "Move it down", true), item("head-neck", "in-place")];
    expect(proposeSummary(judged, WORDS)).toBe("Stop. Lie on the LEFT. Turn over. Stop until: Move it down.");
  });

  test("a fault without words is said to be not in place yet, never by its title alone", () => {
    const judged = [item(SIDE_DOWN, "in-place"), item("elbow-high", "fix"), item("head-neck", "fix", "Chin in.")];
    expect(proposeSummary(judged, WORDS)).toBe("On the LEFT, as it should be. Change: Chin in. Not yet: Title of elbow-high.");
  });

  test("names what was not seen, and asks for a new photo", () => {
    const judged = [item(SIDE_DOWN, "not-visible"), item("armpit-open", "not-visible")];
    expect(proposeSummary(judged, WORDS)).toBe("Side not seen. Lie on the LEFT. Not seen: Title of armpit-open.");
    expect(proposeNextStep(judged)).toBe("new-photo");
    expect(proposeNextStep([item(SIDE_DOWN, "in-place")])).toBe("keep-going");
    expect(proposeNextStep([item(SIDE_DOWN, null)])).toBeNull();
  });

  test("a dollar sign in a cue stays a dollar sign", () => {
    expect(proposeSummary([item(SIDE_DOWN, "in-place"), item("x", "fix", "Put $& there")], WORDS)).toContain("Put $& there.");
  });

  // Every combination of the side's verdict and side, in the shipped words: none may name a side that is not the set-up's.
  test.each(SIDES.flatMap((side) => VERDICTS.map((verdict) => [side, verdict] as const)))("in the shipped words, %s and %s: every side said is the set-up's", (lieOn: Side, verdict) => {
    const found = resolve(SIDE_LYING, { ...RECORD, regions: { ...RECORD.regions, thoracic: curve(opposite(lieOn), "T8"), lumbar: curve(lieOn, "L2") } });
    if (found.coverage === "not-covered") throw new Error("the double curve is covered");
    const summary = proposeSummary([item(SIDE_DOWN, verdict), item("stacked", "in-place"), item("elbow-high", "fix"), item("armpit-open", "not-visible")], proposalWords("Lena", lieOn)) ?? "";
    expect(found.setup.lieOn).toBe(lieOn);
    expect(checkSummary(summary, found.setup)).toMatchObject({ ok: true });
    expect(typedSides(summary, found.setup).map((each) => each.agrees)).toEqual(typedSides(summary, found.setup).map(() => true));
  });
});
