import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { callIfTold, callSaid, expectSaid } from "@/app/family/expectation";
import { emergency, problemWords, reasonSaid, sendWords } from "@/app/family/words";
import { database } from "@/db/client";
import { closures, workingHours } from "@/db/schema/practice";
import { PROBLEM_CODES } from "@/lib/domain/problem";
import { REASON_STATE } from "@/lib/domain/setup/go-ahead-reasons";
import { mirrorSetup, type SetupSides } from "@/lib/domain/setup/setup-sides";
import { DESK, type Reader } from "@/lib/domain/words/reader";
import { limbs, sideAndProp } from "@/lib/messages/setup-words";
import type { CurrentSetup } from "@/lib/records/child-facts";
import { exerciseWords } from "@/lib/records/exercise-names";
import { addPerson, makeWorld } from "@/tests/records/world";

let world: ReturnType<typeof makeWorld>;
beforeEach(() => { world = makeWorld(); });
afterEach(() => world.close());

/** Lumbar convex left: lies on the LEFT, bags under the left low back (PRODUCT, section 3). */
const LEFT: SetupSides = {
  lieOn: "left", prop: { kind: "two-small-bags", side: "left", place: "low-back" },
  topArm: { side: "right", position: "up" }, bottomArm: { side: "left", position: "long-palm-down" },
  topLeg: { side: "right", position: "straight" }, bottomLeg: { side: "left", position: "knee-bent" }, breatheInto: { side: "left" },
};
// Only the resolution's sides and the spot are read by these words.
const inForce = (setup: SetupSides) => ({ resolution: { setup }, apexSpot: "" }) as unknown as CurrentSetup;

describe("a family's words", () => {
  it("names the child's own sides, and the mirror image names the others", () => {
    const words = sendWords("Ada", inForce(LEFT), null, DESK);
    expect(words["this"]).toBe("This is Ada. Ada lies on Ada's LEFT.");
    expect(words["opposite3"]).toContain("It must be the RIGHT hand.");
    expect(words["handHow"]).toBeUndefined();
    expect(words["stepOf"]).toBe("Step {step} of {of}");
    expect(sideAndProp(inForce(LEFT), DESK)[0]).toBe("Lie on the LEFT side.");
    const swapped = (text: string) => text.replaceAll(/LEFT|RIGHT/g, (side) => (side === "LEFT" ? "RIGHT" : "LEFT"));
    for (const said of [sideAndProp, limbs]) expect(said(inForce(mirrorSetup(LEFT)), DESK)).toEqual(said(inForce(LEFT), DESK).map(swapped));
  });

  it("tells left from right by the writing hand, on the child, and changes no other word", () => {
    const said = (hand: "left" | "right", setup = LEFT) => sendWords("Ada", inForce(setup), hand, DESK);
    expect(said("right")).toMatchObject({
      handHow: "Ask Ada to hold up the hand Ada writes with. Look at Ada, not at the photo: that is Ada's RIGHT.",
      handLies: "Ada lies on Ada's LEFT: the other side. That hand is on top.",
    });
    expect(said("left")["handLies"]).toBe("Ada lies on Ada's LEFT: the side of that hand. That hand is next to the floor.");
    expect(said("left", mirrorSetup(LEFT))["handLies"]).toBe("Ada lies on Ada's RIGHT: the other side. That hand is on top.");
    const { handIs: _is, handHow: _how, handLies: _lies, ...rest } = said("right");
    expect(rest).toEqual(sendWords("Ada", inForce(LEFT), null, DESK));
  });

  it("has a sentence for every reason and for every problem without a number of its own", () => {
    const guardian = addPerson("mother", "guardian");
    for (const code of Object.keys(REASON_STATE) as (keyof typeof REASON_STATE)[]) { // the keys of that object
      const reason = { code, since: null, by: null, itemKey: "side-down", stopId: "s" } as Parameters<typeof reasonSaid>[0]; // every field any reason has
      expect(reasonSaid(reason, exerciseWords("practice", "side-lying", 1), guardian).text).toMatch(/\.$/);
    }
    const words = problemWords(DESK);
    expect(words["photo-too-large"]).toContain("{max}");
    expect(PROBLEM_CODES.filter((code) => code.startsWith("photo-") && !words[code])).toEqual([]);
  });

  it("says the real next opening in an emergency", () => {
    const guardian = addPerson("mother", "guardian");
    // Saturday 13 June 2026, hours Monday to Friday from 09:00.
    const saturday = Date.UTC(2026, 5, 13, 10);
    expect(emergency(guardian, saturday)).toMatch(/^Stop\. Get medical help now: .*we may not see this before Mon 09:00\.$/);
    expect(emergency(guardian, Date.UTC(2026, 5, 12, 10))).toMatch(/^Stop\. Get medical help now: .*we may not see this in time\.$/);
    // Closed for the week to come: a weekday alone would name the wrong Monday.
    for (const day of [15, 16, 17, 18, 19]) {
      database().insert(closures).values({ id: String(day), practiceId: "practice", day: `2026-06-${day}`, label: "", recordedBy: "lead", recordedAt: 0 }).run();
    }
    expect(emergency(guardian, saturday)).toMatch(/before Mon 22 Jun, 09:00\.$/);
    expect(emergency({ ...guardian, timeZone: "Asia/Kathmandu" }, saturday)).toMatch(/before Mon 22 Jun, 13:45 \(Kathmandu time\)\.$/);
  });
});

describe("by when to expect an answer", () => {
  /** Summer time: 10:00 UTC is 11:00 in London. 8 working hours promised, Monday to Friday, 9 to 17. */
  const friday = Date.UTC(2026, 5, 12, 10, 7);
  const spanish: Reader = { ...DESK, locale: "es" };

  it("is one sentence of the promise, rounded to later, and of the opening while the practice is closed", () => {
    const mother = addPerson("mother", "guardian");
    expect(expectSaid("photo-set", friday, mother, friday)).toBe("Expect an answer by Mon 11:15.");
    expect(expectSaid("question", friday, mother, friday)).toBe("Expect a reply by Mon 11:15.");
    const saturday = friday + 86_400_000;
    expect(expectSaid("photo-set", friday, mother, saturday)).toBe("Expect an answer by Mon 11:15. We open Mon 09:00.");
    expect(expectSaid("photo-set", friday, { ...mother, reader: spanish }, saturday)).toBe("Espere una respuesta para el lunes 11:15. Abrimos el lunes 09:00.");
  });

  it("is by the family's own clock, and names it where it is not the practice's", () => {
    const mother = { ...addPerson("mother", "guardian"), timeZone: "America/New_York" };
    expect(expectSaid("photo-set", friday, mother, friday)).toBe("Expect an answer by Mon 06:15 (New York time).");
    expect(expectSaid("photo-set", friday, { ...mother, reader: spanish }, friday)).toBe("Espere una respuesta para el lunes 06:15 (hora de New York).");
  });

  it("says that it is late, with what to do, and of no promise that nobody can say", () => {
    const mother = addPerson("mother", "guardian");
    const due = Date.UTC(2026, 5, 15, 10, 15);
    expect(expectSaid("photo-set", friday, mother, due)).toBe("Expect an answer by Mon 11:15.");
    expect(expectSaid("photo-set", friday, mother, due + 1)).toBe(
      "An answer was promised by Mon 11:15 and is late. You can call the practice. Until it comes, do only what your first page says.");
    expect(expectSaid("question", friday, mother, due + 30 * 86_400_000)).toMatch(/^A reply was promised by Mon 15 Jun, 11:15 and is late\./);
    database().delete(workingHours).run();
    expect(expectSaid("photo-set", friday, mother, friday)).toBe("Nobody can say now when an answer comes: the practice has no hours set. You can call the practice.");
    expect(callIfTold(mother, friday)).toBe("Nobody can say now when we call: the practice has no hours set. Do not wait for a call: get help.");
    expect((["urgent", "today"] as const).map((tier) => callSaid(tier, friday, mother, friday))).toEqual([
      "Nobody can say when we call: the practice has no hours set. Do not wait for a call: get medical help now.",
      "Nobody can say when we call: the practice has no hours set. Do not wait for a call: call your doctor.",
    ]);
  });

  it("of a symptom it never says to wait: each sentence sends to help, in each language", () => {
    database().update(workingHours).set({ symptomMinutes: 120 }).run();
    const mother = addPerson("mother", "guardian");
    expect(callIfTold(mother, friday)).toBe("If you tell us now, we promise to call you by Fri 13:15. Do not wait for that call when it is urgent or gets worse: get medical help.");
    expect(callSaid("urgent", friday, mother, friday)).toBe("We promise to call you by Fri 13:15. Do not wait for our call: get medical help now.");
    for (const tier of ["urgent", "today"] as const) {
      for (const now of [friday, friday + 7 * 86_400_000]) {
        expect(callSaid(tier, friday, mother, now)).toMatch(/[Dd]o not wait|Get medical help now/);
        expect(callSaid(tier, friday, { ...mother, reader: spanish }, now)).toMatch(/[Nn]o espere|Busque ayuda médica ahora/);
      }
    }
  });
});
