import { describe, expect, test } from "vitest";
import { coveredSetups } from "@/lib/domain/setup/covered-patterns";
import { resolve } from "@/lib/domain/setup/resolve";
import { mirrorSetup, type SetupSides } from "@/lib/domain/setup/setup-sides";
import { SIDE_LYING } from "@/lib/domain/setup/side-lying";
import { checkCue } from "@/lib/domain/words/check-cue";
import { fillCue, offerCue } from "@/lib/domain/words/cue";
import { countsOf, gradeOf, readingOf } from "@/lib/domain/words/reading-grade";
import { typedSides } from "@/lib/domain/words/typed-sides";
import catalogue from "@/lib/messages/en/exercise.json";
import { starterCues } from "@/lib/messages/starter-cues";
import { NONE, RECORD } from "@/tests/domain/curve-record-scene";

const KEYS = SIDE_LYING.items.map((item) => item.key);
const ALL = KEYS.flatMap((key) => starterCues(key).map((cue) => ({ itemKey: key, ...cue })));
const PATTERNS = coveredSetups(SIDE_LYING);
const word = (side: string): string => side.toUpperCase();

describe("the patterns an exercise covers", () => {
  // PRODUCT, section 3: the table of the first exercise.
  test("are both mirror images of the double curve and of the lumbar curve alone", () => {
    expect(PATTERNS.flatMap((each) => each.patterns.map((pattern) => pattern.key)).sort()).toEqual([
      "lumbar-left", "lumbar-right", "thoracic-left+lumbar-right", "thoracic-right+lumbar-left",
    ]);
  });

  test("carry the set-up that the rules give a real record", () => {
    const records = { "thoracic-right+lumbar-left": RECORD, "lumbar-left": { ...RECORD, regions: { ...RECORD.regions, thoracic: NONE } } };
    for (const [key, record] of Object.entries(records)) {
      expect(resolve(SIDE_LYING, record)).toMatchObject({ setup: PATTERNS.find((each) => each.patterns.some((pattern) => pattern.key === key))?.setup });
    }
  });
});

describe("the shipped cues", () => {
  test("are there for every item, two to four, and for no other", () => {
    expect(Object.keys(catalogue.cues).sort()).toEqual([...KEYS].sort());
    for (const key of KEYS) expect([2, 3, 4]).toContain(starterCues(key).length);
    expect(starterCues("hop")).toEqual([]);
    expect(starterCues("constructor")).toEqual([]);
  });

  test("have a key each that says what it is about", () => {
    expect(new Set(ALL.map((cue) => cue.key)).size).toBe(ALL.length);
    for (const { itemKey, key } of ALL) expect(key).toMatch(new RegExp(`^${itemKey}\\.[a-z][a-z-]+$`));
  });

  test.each(ALL)("$key is what a therapist may save", ({ words }) => {
    expect(checkCue(words, PATTERNS.map((each) => each.setup))).toEqual({ ok: true, value: words });
  });

  // Grade 6 for handouts: Am Fam Physician 2015;92:118-124.
  test.each(ALL)("$key is at or below grade 6, sides filled in", ({ words }) => {
    const filled = PATTERNS.flatMap(({ setup }) => {
      const said = fillCue(words, setup, word);
      return said.ok ? [said.value] : [];
    });
    expect(filled.length).toBeGreaterThan(0);
    for (const said of filled) {
      expect(gradeOf(countsOf(said))).toBeLessThanOrEqual(6);
      expect(readingOf(said)).toMatchObject({ kind: "judged", isHard: false });
      expect(said).not.toMatch(/[{}]/);
    }
  });

  test.each(ALL)("$key says what to do, then why, and blames nobody", ({ words }) => {
    // A reason comes in a second sentence or after "so that"; no source.
    expect(words).toMatch(/[.?] [A-Z]|so that/);
    expect(words).not.toMatch(/\b(wrong|mistake|bad|fail|lazy|again!|must)\b/i);
    expect(words).not.toMatch(/\b(upper|lower) (arm|leg)\b/i);
    // LOOK, "Words": top arm (RIGHT). A side of an arm or leg stands beside "top" or "bottom".
    for (const [, , place = ""] of words.matchAll(/\{((top|bottom) (?:arm|leg)) side\}/g)) {
      const limb = /\{(?:top|bottom) (arm|leg) side\}/.exec(words)?.[1] ?? "";
      expect(words.toLowerCase()).toMatch(new RegExp(`${place} (?:${limb === "arm" ? "arm|elbow|armpit|hand|shoulder blade" : "leg|knee"}) \\(\\{`));
    }
  });

  test("offer at least two for every item of every pattern, and contradict none", () => {
    for (const { patterns: [pattern], setup } of PATTERNS) {
      const variation = SIDE_LYING.variations.find((each) => each.key === (pattern?.curves.length === 1 ? "lumbar-alone" : "thoracic-lumbar-opposite"));
      for (const key of variation?.items ?? []) {
        const offered = starterCues(key).flatMap(({ words }) => {
          const said = offerCue(words, setup, word);
          return said.ok ? [said.value] : [];
        });
        expect(offered.length, key).toBeGreaterThanOrEqual(2);
        for (const said of offered) expect(typedSides(said, setup).every((side) => side.agrees !== false)).toBe(true);
      }
    }
  });

  test("exchange their sides, and nothing else, for the mirror image", () => {
    const flipped = (said: string): string => said.replaceAll(/LEFT|RIGHT/g, (side) => (side === "LEFT" ? "RIGHT" : "LEFT"));
    for (const { setup } of PATTERNS) for (const { words } of ALL) {
      const [one, other] = [setup, mirrorSetup(setup)].map((each: SetupSides) => offerCue(words, each, word));
      if (one?.ok) expect(other).toEqual({ ok: true, value: flipped(one.value) });
      else expect(other).toEqual(one);
    }
  });
});
