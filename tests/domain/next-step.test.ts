import { expect, test } from "vitest";
import { checkNextStep, NEXT_STEPS, SIDE_DOWN, type GivenVerdict } from "@/lib/domain/answering/check-answer";
import { checklist } from "@/lib/domain/answering/checklist";
import { SIDE_LYING } from "@/lib/domain/setup/side-lying";

const ROWS = checklist(SIDE_LYING.items, "position", { kind: "photos", views: ["behind", "front"] });
const given = (itemKey: string, verdict: GivenVerdict["verdict"]): GivenVerdict => ({ itemKey, verdict, cue: null, cueId: null });
const allowed = (some: readonly GivenVerdict[]) => NEXT_STEPS.filter((step) => checkNextStep(ROWS, some, step).ok);

// PRODUCT, section 3: an item whose fix stops the exercise; what follows a stop: common practice, no source.
test.each(ROWS.filter((row) => row.item.isStop).map((row) => row.item.key))("%s at fix: nothing that goes on may follow", (key) => {
  expect(allowed([given(key, "fix"), given("elbow-high", "in-place")])).toEqual(["new-photo", "book-assessment"]);
  expect(checkNextStep(ROWS, [given(key, "fix")], "keep-going")).toMatchObject({ ok: false, problem: { code: "stop-next-step", field: "nextStep" } });
});

test("without a stop the therapist chooses freely", () => {
  expect(allowed([given(SIDE_DOWN, "in-place"), given("elbow-high", "fix")])).toEqual([...NEXT_STEPS]);
  expect(allowed([given(SIDE_DOWN, "not-visible")])).toEqual([...NEXT_STEPS]);
});
