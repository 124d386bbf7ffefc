import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { emergency, limbs, problemWords, reasonSaid, sendWords, sideAndProp } from "@/app/family/words";
import { PROBLEM_CODES } from "@/lib/domain/problem";
import { REASON_STATE } from "@/lib/domain/setup/go-ahead-reasons";
import { mirrorSetup, type SetupSides } from "@/lib/domain/setup/setup-sides";
import type { CurrentSetup } from "@/lib/records/child-facts";
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
    const words = sendWords("Ada", inForce(LEFT));
    expect(words["this"]).toBe("This is Ada. Ada lies on Ada's LEFT.");
    expect(words["opposite3"]).toContain("It must be the RIGHT hand.");
    expect(words["stepOf"]).toBe("Step {step} of {of}");
    expect(sideAndProp(inForce(LEFT))[0]).toBe("Lie on the LEFT side.");
    const swapped = (text: string) => text.replaceAll(/LEFT|RIGHT/g, (side) => (side === "LEFT" ? "RIGHT" : "LEFT"));
    for (const said of [sideAndProp, limbs]) expect(said(inForce(mirrorSetup(LEFT)))).toEqual(said(inForce(LEFT)).map(swapped));
  });

  it("has a sentence for every reason and for every problem without a number of its own", () => {
    const guardian = addPerson("mother", "guardian");
    for (const code of Object.keys(REASON_STATE) as (keyof typeof REASON_STATE)[]) { // the keys of that object
      const reason = { code, since: null, by: null, itemKey: "side-down", stopId: "s" } as Parameters<typeof reasonSaid>[0]; // every field any reason has
      expect(reasonSaid(reason, guardian).text).toMatch(/\.$/);
    }
    const words = problemWords();
    expect(words["photo-too-large"]).toContain("{max}");
    expect(PROBLEM_CODES.filter((code) => code.startsWith("photo-") && !words[code])).toEqual([]);
  });

  it("says the real next opening in an emergency", () => {
    const guardian = addPerson("mother", "guardian");
    // Saturday 13 June 2026, hours Monday to Friday from 09:00.
    expect(emergency(guardian, Date.UTC(2026, 5, 13, 10))).toMatch(/^Stop\. Get medical help now: .*we may not see this before Mon 09:00\.$/);
    expect(emergency(guardian, Date.UTC(2026, 5, 12, 10))).toMatch(/^Stop\. Get medical help now: /);
  });
});
