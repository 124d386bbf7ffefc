import { describe, expect, it } from "vitest";
import { afterButton, blankFields, copyFields, draftOf, fieldsOf, unusedKey, type Fields } from "@/lib/domain/setup/exercise-fields";
import type { ExerciseWords } from "@/lib/domain/setup/exercise-words.schema";
import { resolveAll } from "@/lib/domain/setup/resolve-all";
import { SIDE_LYING } from "@/lib/domain/setup/side-lying";
import { VIEWS } from "@/lib/domain/setup/vocabulary";
import { checkExercise } from "@/lib/domain/setup/write-exercise";

const WORDS: ExerciseWords = {
  form: 1, title: "Side-lying", cautions: ["Only after a lesson in person."],
  items: Object.fromEntries(SIDE_LYING.items.map((item) => [item.key, `Item ${item.key.replaceAll("-", " ")}`])),
};
/** A copy of the shipped exercise, ready to be saved: rule-1 for the double pattern, rule-2 for lumbar alone. */
const COPY = copyFields(SIDE_LYING, WORDS, "Long side");
const check = (change: Fields = {}, without: readonly string[] = []) =>
  checkExercise(draftOf(Object.fromEntries(Object.entries({ ...COPY, ...change }).filter(([name]) => !without.includes(name)))), "long-side", 1);
const problems = (change: Fields = {}, without: readonly string[] = []) => check(change, without).problems.map(({ field, code }) => `${field} ${code}`);

describe("a draft", () => {
  it("that copies the shipped exercise has no problems and is that exercise under its own keys", () => {
    expect(problems()).toEqual([]);
    const { written } = check();
    expect(written?.words).toEqual({ ...WORDS, title: "Long side" });
    expect(written?.exercise).toEqual({
      ...SIDE_LYING, key: "long-side", titleKey: "long-side",
      items: SIDE_LYING.items.map((item) => ({ ...item, views: VIEWS.filter((view) => item.views.includes(view)) })),
      variations: SIDE_LYING.variations.map((each, at) => ({
        ...each, key: `rule-${at + 1}`, items: SIDE_LYING.items.map((item) => item.key).filter((key) => each.items.includes(key)),
      })),
    });
    expect(draftOf(fieldsOf(written?.exercise ?? SIDE_LYING, WORDS))).toEqual({ ...draftOf(COPY), title: "Side-lying" });
  });

  it("that is blank asks for everything but the side down, which is a stop item already", () => {
    const { problems: open, written } = checkExercise(draftOf(blankFields("Long side", "Side down")), "long-side", 1);
    expect(written).toBeNull();
    expect(open.filter((each) => each.field.startsWith("item."))).toEqual([]);
    expect(open.map((each) => each.field)).toEqual(expect.arrayContaining(["breaths", "times", "rule.rule-1.lieOn", "rule.rule-1.when.lumbar", "rule.rule-1.propKind"]));
  });

  // Each case: what is changed, what is taken away, the one problem it must bring.
  it.each<readonly [string, Fields, readonly string[], string]>([
    ["has no title", { title: " a " }, [], "title title-length"],
    ["names a side in its title", { title: "Lying on the left" }, [], "title names-side"],
    ["names a side in an item", { "item.stacked.title": "Right hip over the other" }, [], "item.stacked.title names-side"],
    ["names a side in a caution", { cautions: "Not for the LEFT side" }, [], "cautions names-side"],
    ["has a caution of two letters", { cautions: "No" }, [], "cautions caution-length"],
    ["has seven cautions", { cautions: Array.from({ length: 7 }, (_, at) => `Caution number ${at}`).join("\n") }, [], "cautions cautions-many"],
    ["asks for 21 breaths", { breaths: "21" }, [], "breaths dose"],
    ["asks for half a time", { times: "0.5" }, [], "times dose"],
    ["says no number of breaths", { breaths: "" }, [], "breaths dose"],
    ["has two items of one title", { "item.stacked.title": "item HEAD neck" }, [], "item.stacked.title title-twice"],
    ["leaves an item's phase open", { "item.stacked.phase": "" }, [], "item.stacked.phase phase-open"],
    ["leaves an item's evidence open", {}, ["still", "clip", "live"].map((each) => `item.stacked.evidence.${each}`), "item.stacked.evidence evidence-open"],
    ["leaves an item's views open", {}, ["behind", "head-end"].map((each) => `item.stacked.view.${each}`), "item.stacked.views views-open"],
    ["has a stop item no photo shows", {}, ["item.prop-low-back.evidence.still"], "item.prop-low-back.evidence stop-unseen"],
    ["requires what no photo shows", { "item.ribs-wide.required": "yes" }, [], "item.ribs-wide.evidence required-unseen"],
    ["lets the side down be no stop item", {}, ["item.side-down.stop"], "item.side-down.title side-down-weak"],
    ["asks for the side down later", { "item.side-down.phase": "breath" }, [], "item.side-down.title side-down-weak"],
    ["keeps the side down when sides change", {}, ["item.side-down.sides"], "item.side-down.title side-down-weak"],
    ["has a rule without the side down", {}, ["rule.rule-1.item.side-down"], "rule.rule-1.items rule-without-side-down"],
    ["leaves a region of a rule open", { "rule.rule-1.when.thoracolumbar": "" }, [], "rule.rule-1.when.thoracolumbar pick-open"],
    ["takes a region not assessed for a choice", { "rule.rule-1.when.thoracolumbar": "not-assessed" }, [], "rule.rule-1.when.thoracolumbar pick-open"],
    ["leaves the side down open", { "rule.rule-2.lieOn": "" }, [], "rule.rule-2.lieOn pick-open"],
    ["says a side outright", { "rule.rule-2.lieOn": "left" }, [], "rule.rule-2.lieOn pick-open"],
    ["leaves the prop's place open", {}, ["rule.rule-2.propPlace"], "rule.rule-2.propPlace pick-open"],
    ["lies on a curve that is not there", { "rule.rule-2.lieOn": "thoracic-convex" }, [], "rule.rule-2.lieOn side-without-curve"],
    ["breathes into a curve that is not there", { "rule.rule-1.breatheInto": "thoracolumbar-concave" }, [], "rule.rule-1.breatheInto side-without-curve"],
    ["compares a curve that is not there", { "rule.rule-2.opposite.thoracic+lumbar": "yes" }, [], "rule.rule-2.opposite pair-without-curve"],
    ["teaches a breath to a side and names none", { "rule.rule-1.breatheInto": "none" }, [], "rule.rule-1.breatheInto breath-side"],
    ["names a side for a breath that has none", { "rule.rule-2.breatheInto": "lumbar-concave" }, [], "rule.rule-2.breatheInto breath-side"],
    ["slides the blade with the hand on the hip", { "rule.rule-2.movement": "blade-slide-and-leg-reach" }, [], "rule.rule-2.topArm arm-not-up"],
    ["asks for a prop where there is none", { "rule.rule-2.item.prop-ribs": "yes" }, [], "rule.rule-2.items item-not-there"],
    ["asks for the stool where none is pressed", { "rule.rule-2.item.stool-press": "yes" }, [], "rule.rule-2.items item-not-there"],
    ["has a phase with nothing to judge it by", {}, ["rule.rule-2.item.ribs-wide"], "rule.rule-2.items phase-without-item"],
  ])("that %s is refused there", (_what, change, without, problem) => {
    expect(problems(change, without)).toContain(problem);
  });

  it("that presses a stool in a phase it does not teach is refused, and so is a phase nothing is done in", () => {
    expect(problems({}, ["phase.activation"])).toEqual(expect.arrayContaining(["rule.rule-1.activation activation-not-taught", "item.stool-press.phase phase-not-taught"]));
    expect(problems({ "rule.rule-1.activation": "none" }, ["rule.rule-1.item.stool-press", "rule.rule-1.item.stool-steady"])).toEqual(["phase.activation phase-unused"]);
  });

  it("without the side down, or without a rule, is refused", () => {
    expect(problems({ items: (COPY["items"] ?? "").replace("side-down ", "") })).toContain("items side-down-missing");
    expect(problems({ rules: "" })).toContain("rules rules-missing");
  });

  it("whose two rules fit one pattern is refused with that pattern", () => {
    // Both rules for a lumbar curve alone.
    const two = check({ "rule.rule-1.when.thoracic": "none", "rule.rule-1.breatheInto": "lumbar-concave" }, ["rule.rule-1.opposite.thoracic+lumbar"]);
    expect(two.problems).toEqual([{
      field: "rule.rule-2.when", code: "rules-overlap",
      pattern: { "proximal-thoracic": "none", thoracic: "none", thoracolumbar: "none", lumbar: "left" },
    }]);
  });

  it("says every problem in words that are no side when nothing names one", () => {
    expect(problems({ title: "Upright, all right, at a right angle" })).toEqual([]);
  });
});

describe("the buttons of the form", () => {
  const keys = (fields: Fields, list = "items") => (fields[list] ?? "").split(" ");

  it("add an item under a key of its own, which keeps when the title changes", () => {
    const added = afterButton({ ...COPY, newItem: "  Élan: hip high! " }, "item-add");
    expect(keys(added).at(-1)).toBe("elan-hip-high");
    expect(added).toMatchObject({ "item.elan-hip-high.title": "Élan: hip high!", "item.elan-hip-high.sides": "yes", newItem: "" });
    expect(keys(afterButton({ ...added, newItem: "Elan hip high" }, "item-add")).at(-1)).toBe("elan-hip-high-2");
    expect(draftOf({ ...added, "item.elan-hip-high.title": "Hip up" }).items.at(-1)).toMatchObject({ key: "elan-hip-high", title: "Hip up", phase: null });
    expect(afterButton({ ...COPY, newItem: " " }, "item-add")).toEqual({ ...COPY, newItem: " " });
  });

  it("move and take out, and never take out the side down", () => {
    const [first, second, third] = keys(COPY);
    expect(keys(afterButton(COPY, `item-down:${first}`)).slice(0, 3)).toEqual([second, first, third]);
    expect(keys(afterButton(COPY, `item-up:${first}`))).toEqual(keys(COPY));
    expect(keys(afterButton(COPY, "item-remove:stacked"))).toEqual(keys(COPY).filter((key) => key !== "stacked"));
    expect(keys(afterButton(COPY, "item-remove:side-down"))).toEqual(keys(COPY));
    for (const button of ["item-remove:nothing", "check", "", "rule-up:rule-1"]) expect(afterButton(COPY, button)).toEqual(COPY);
  });

  it("add a rule with nothing picked that is a choice, and its key was never another's", () => {
    const added = afterButton(COPY, "rule-add");
    expect(keys(added, "rules")).toEqual(["rule-1", "rule-2", "rule-3"]);
    expect(draftOf(added).rules.at(-1)).toMatchObject({ coverage: null, lieOn: null, propKind: null, topArm: null, breath: null, activation: null, items: ["side-down"] });
    expect(keys(afterButton(COPY, "rule-remove:rule-1"), "rules")).toEqual(["rule-2"]);
  });

  it("bring back nothing of an item of the same name that was taken out", () => {
    const without = afterButton(COPY, "item-remove:stacked");
    const again = draftOf(afterButton({ ...without, newItem: "Stacked" }, "item-add"));
    expect(again.items.at(-1)).toMatchObject({ key: "stacked", evidence: [], isStop: false });
    expect(again.rules.some((rule) => rule.items.includes("stacked"))).toBe(false);
  });

  it("make keys that are keys", () => {
    for (const title of ["", "!!!", "九", "a".repeat(200), "-- x --"]) expect(unusedKey(title, [])).toMatch(/^[a-z0-9-]{1,64}$/);
  });
});

describe("an exercise tried on every pattern", () => {
  const { covered, refused } = resolveAll(SIDE_LYING);

  it("has each of the 256 patterns in one row", () => {
    const all = [...covered.flatMap((row) => row.setups.flatMap((each) => each.patterns)), ...refused.flatMap((row) => row.patterns)];
    expect(new Set(all.map((each) => JSON.stringify(each))).size).toBe(256);
    expect(all).toHaveLength(256);
  });

  it("gives the table of the shipped one: two patterns covered, two adapted", () => {
    // PRODUCT, section 3 (common practice, no source).
    expect(covered.map((row) => [row.coverage, row.setups.map((each) => [each.patterns.map((states) => `${states.thoracic} ${states.lumbar}`), each.resolution.setup.lieOn])])).toEqual([
      ["covered", [[["left right"], "right"], [["right left"], "left"]]],
      ["adapted", [[["none left"], "left"], [["none right"], "right"]]],
    ]);
  });

  it("refuses the other 252 with reasons, and never covers what was not assessed", () => {
    // 256 - 3^4 patterns have a region not assessed.
    expect(refused.flatMap((row) => (row.reasons.includes("not-assessed") ? row.patterns : []))).toHaveLength(175);
    expect(refused.reduce((sum, row) => sum + row.patterns.length, 0)).toBe(252);
    expect(refused.every((row) => row.reasons.length > 0)).toBe(true);
  });

  it("says of a lumbar curve alone that it stands alone, where no rule takes it", () => {
    const [double] = SIDE_LYING.variations;
    const rows = resolveAll({ ...SIDE_LYING, variations: double ? [double] : [] }).refused;
    expect(rows.find((row) => row.reasons.includes("lumbar-only"))?.patterns).toHaveLength(2);
  });
});
