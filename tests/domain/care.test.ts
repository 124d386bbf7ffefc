import { describe, expect, it } from "vitest";
import { careReach, leavesNobody, reachedOn, type Agreement } from "@/lib/domain/policy/care";
import { isEnough, may, POLICY, type Ability } from "@/lib/domain/policy/policy";

const AGES = { ownSignInAge: 16, adultAge: 18 };
const reach = (relation: "guardian" | "self", today: string, agreement: Agreement | null = null, bornIn = "2010-05") =>
  careReach({ relation, bornIn, agreement }, AGES, today);

describe("an age", () => {
  it("is reached for certain when the birth month is over, for the day is not kept", () => {
    expect(reachedOn("2010-05", 16)).toBe("2026-06-01");
    expect(reachedOn("2010-12", 18)).toBe("2029-01-01");
    expect(reachedOn("2008-02", 16)).toBe("2024-03-01");
    expect(reachedOn("1999-11", 16)).toBe("2015-12-01");
  });
});

describe("what a care link lets its person do", () => {
  it("a guardian decides until the child is an adult", () => {
    expect([reach("guardian", "2026-01-01"), reach("guardian", "2028-05-31")]).toEqual(["decide", "decide"]);
    expect(reach("guardian", "2028-06-01")).toBe("none");
  });

  it("of an adult, sees by the adult's agreement, decides only by law, and neither once that ended", () => {
    expect((["agreed", "represents", "ended", null] as const).map((said) => reach("guardian", "2028-06-01", said)))
      .toEqual(["practise", "decide", "none", "none"]);
  });

  it("a young person sees nothing below the practice's age, practises from it, and decides as an adult", () => {
    expect(["2026-05-31", "2026-06-01", "2028-05-31", "2028-06-01"].map((today) => reach("self", today)))
      .toEqual(["none", "practise", "practise", "decide"]);
  });

  it("no agreement makes a young person older", () => {
    expect((["agreed", "represents"] as const).map((said) => reach("self", "2026-05-31", said))).toEqual(["none", "none"]);
  });
});

describe("what a reach is enough for", () => {
  const abilities = Object.keys(POLICY) as Ability[]; // the table's own keys
  const of = (role: string, given: "none" | "practise" | "decide") =>
    abilities.filter((ability) => POLICY[ability].scope === "child" && may(role, ability) && isEnough(given, ability)).sort();

  it("a young person does all that a guardian does but decide", () => {
    const guardian = of("guardian", "decide");
    expect(guardian.filter((ability) => !of("young-person", "practise").includes(ability)))
      .toEqual(["consent.give", "erasure.ask", "erasure.take-back", "export.ask", "export.read", "export.take"]);
    expect(of("young-person", "decide").filter((ability) => !guardian.includes(ability))).toEqual(["care.agree"]);
    expect(guardian).toEqual(expect.arrayContaining(["photo-set.send", "question.ask", "symptom.report", "read-back.answer", "practice-day.mark", "photo.view"]));
  });

  it("none is enough for nothing", () => {
    for (const role of ["guardian", "young-person"]) expect(of(role, "none")).toEqual([]);
  });
});

describe("ending a link", () => {
  it.each([
    ["the only guardian", "decide", [], true],
    ["one of two guardians", "decide", ["decide"], false],
    ["the guardian of a young person who practises", "decide", ["practise"], true],
    ["a young person with a guardian", "practise", ["decide"], false],
    ["an agreed guardian of an adult with a sign-in", "practise", ["decide"], false],
    ["the only one an adult without a sign-in has", "practise", [], true],
    ["a guardian whom an adult has not agreed to, beside the adult", "none", ["decide"], false],
    ["a guardian beside one who sees nothing", "decide", ["none"], true],
  ] as const)("of %s", (_who, ended, others, isLast) => {
    expect(leavesNobody(ended, others)).toBe(isLast);
  });
});
