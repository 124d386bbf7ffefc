import { describe, expect, test } from "vitest";
import { apexesOf, isHighThoracic, placeOf, readApex, regionOfLevel, REGIONS, regionsOf } from "@/lib/domain/curve/region";
// Apex to region after the Scoliosis Research Society; the file names its sources. Levels on which
// published lists differ are not asserted to be of any region, only refused.
import checks from "@/tests/checks/srs-regions.json";

describe("the region of an apex", () => {
  test.each(checks.levels)("$level is $region", ({ level, region }) => {
    const apex = readApex(level);
    expect(apex.ok && regionOfLevel(apex.value)).toBe(region);
  });

  test.each(checks.ambiguous)("%s is refused, not guessed", (level) => {
    expect(readApex(level)).toEqual({ ok: false, problem: { code: "apex-ambiguous", values: { level }, field: "apex" } });
  });

  test("every level of the check is known, once", () => {
    expect(checks.levels.length).toBe(44);
    expect(checks.ambiguous.length).toBe(5);
  });
});

describe("the regions a curve may be entered under", () => {
  test("thoracic holds everything the Society calls thoracic, and nothing else does but the proximal name", () => {
    for (const { level, region } of checks.levels) {
      const apex = readApex(level);
      if (!apex.ok) throw new Error(level);
      const under = regionsOf(apex.value);
      expect(under.includes("thoracic")).toBe(region === "thoracic");
      expect(under.includes("thoracolumbar")).toBe(region === "thoracolumbar");
      expect(under.includes("lumbar")).toBe(region === "lumbar");
      if (under.includes("proximal-thoracic")) expect(under).toContain("thoracic");
    }
  });

  test("proximal thoracic reaches from T2 to T5 (T3 to T5 by common classification, from memory)", () => {
    expect(apexesOf("proximal-thoracic")).toEqual(["T2", "T2/3", "T3", "T3/4", "T4", "T4/5", "T5"]);
    expect([isHighThoracic("T5"), isHighThoracic("T5/6"), isHighThoracic("T8")]).toEqual([true, false, false]);
  });

  test("lists run from head to seat", () => {
    for (const region of REGIONS) {
      const places = apexesOf(region).map(placeOf);
      expect(places).toEqual([...places].sort((a, b) => a - b));
    }
    expect(apexesOf("thoracolumbar")).toEqual(["T12", "T12/L1", "L1"]);
    expect(apexesOf("lumbar")).toEqual(["L1/2", "L2", "L2/3", "L3", "L3/4", "L4"]);
  });
});

test.each([
  ["t9", "T9"], [" T 11 - 12 ", "T11/12"], ["T11/T12", "T11/12"], ["t12-l1", "T12/L1"], ["L2-3", "L2/3"], ["S1", "S1"], ["l5/s1", "L5/S1"],
])("reads %s as %s", (typed, level) => expect(readApex(typed)).toEqual({ ok: true, value: level }));

test.each(["", "T", "T0", "T13", "T9/11", "T12/1", "L6", "T9/T8", "9", "T9 right", "S2", "T11/L12", "toString", "T٩"])(
  "refuses '%s' as an apex",
  (typed) => expect(readApex(typed)).toEqual({ ok: false, problem: { code: "apex-unknown", field: "apex" } }),
);
