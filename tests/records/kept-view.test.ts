import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { keptFor } from "@/app/api/kept/kept-for";
import { grant } from "@/lib/access/grant";
import { KEPT_VERSION, type Kept, type OfflineReport } from "@/lib/domain/kept/kept";
import { dateIn, foreignIn, reasonWorded, viewOf, type KeptView, type SaidHere } from "@/lib/domain/kept/view";
import { saveCue } from "@/lib/records/cues";
import { addSet, addSymptom, answeringWorld, EXERCISE, HOUR, NOW, send, verdictsOf } from "@/tests/records/answering-scene";

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => { world = answeringWorld(); });
afterEach(() => world.close());

const DAY = 24 * HOUR;
const NOTHING_SAID: SaidHere = { reports: [], tries: [] };
const shown = (kept: Kept, said = NOTHING_SAID, now = kept.checkedAt): KeptView => viewOf({ kept, keptAt: kept.checkedAt, seenAt: kept.checkedAt }, said, now);
const childrenIn = (view: KeptView) => {
  if (view.is !== "kept") throw new Error("nothing is shown");
  return view.children;
};
const report = (change: Partial<OfflineReport> = {}) =>
  ({ key: "k", childId: "child-1", noticed: ["leg-weak-or-numb"], tier: "urgent" as const, note: "", photoSetId: null, writtenAt: NOW + DAY, sentAt: null, ...change });

describe("the page without signal", () => {
  it("shows nothing where nothing is kept, and nothing of another version or of what is damaged", async () => {
    const kept = await keptFor(world.mother, NOW);
    expect(viewOf(null, NOTHING_SAID, NOW)).toEqual({ is: "nothing" });
    expect(shown(kept).is).toBe("kept");
    for (const damaged of [{ ...kept, version: KEPT_VERSION + 1 }, { ...kept, version: undefined }, { ...kept, children: undefined }, { ...kept, children: [{ childId: "child-1" }] },
      { ...kept, children: kept.children.map((child) => ({ ...child, exercises: child.exercises.map((each) => ({ ...each, facts: { ...each.facts, verdicts: null } })) })) }]) {
      expect(shown(damaged as unknown as Kept)).toEqual({ is: "unknown" }); // what a store may hold after anything
    }
  });

  it("lists what is open with its cue and the reason with its day and who decided, as the page with signal does", async () => {
    addSet("set");
    const verdicts = verdictsOf("in-place").map((each) => (each.itemKey === "elbow-high" ? { ...each, verdict: "fix" as const, cue: "Lift the elbow.", cueId: null } : each));
    expect((await send(world.therapist, "set", { verdicts })).ok).toBe(true);
    const kept = await keptFor(world.mother, NOW + HOUR);
    const [child] = childrenIn(shown(kept));
    const [exercise] = child?.exercises ?? [];
    expect(exercise?.open.map((row) => [row.itemKey, row.newestCue?.text])).toEqual([["elbow-high", "Lift the elbow."]]);
    const [reason] = exercise?.today.current.goAhead.reasons ?? [];
    expect(exercise && reason && reasonWorded(reason, exercise.exercise, kept)).toEqual({ text: "Elbow high: fix this.", decided: "Wed 4 Mar 2026, therapist" });
  });

  it("says its language, and of each text without a translation that it stands in English, as the page with signal does", async () => {
    addSet("set");
    const words = "Lift the elbow a little.";
    const write = await grant(world.therapist, "cues.write", null);
    expect((await saveCue(write, { exerciseKey: EXERCISE, itemKey: "elbow-high", id: "elbow-high.higher", words, version: 0 }, NOW)).ok).toBe(true);
    const verdicts = verdictsOf("in-place").map((each) => (each.itemKey === "elbow-high" ? { ...each, verdict: "fix" as const, cue: words, cueId: "elbow-high.higher" } : each));
    expect((await send(world.therapist, "set", { verdicts })).ok).toBe(true);
    const spanish = await keptFor({ ...world.mother, reader: { locale: "es", voice: "carer" } }, NOW + HOUR);
    expect(spanish.language).toBe("es");
    const [child] = childrenIn(shown(spanish));
    const exercise = child?.exercises[0]?.exercise;
    if (!exercise) throw new Error("the child has an exercise");
    // Every title is shipped in Spanish; the practice's own cue has nobody translated.
    expect(exercise.languages).toEqual({ [words]: "en" });
    expect(foreignIn(words, exercise)).toEqual({ part: words, lang: "en" });
    expect(foreignIn("Codo alto: corrija esto.", exercise)).toBeNull();
    // A title inside another: the longer one is meant.
    const named = { ...exercise, languages: { Elbow: "en", "Elbow high": "en" } } as const;
    expect(foreignIn("Elbow high: corrija esto.", named)?.part).toBe("Elbow high");
    expect((await keptFor(world.mother, NOW + HOUR)).children[0]?.exercises[0]?.languages).toEqual({});
  });

  it("stops that child alone for what was said here, waits until it has arrived, and dates it by the reader's own days", async () => {
    const kept = await keptFor(world.mother, NOW);
    const [stopped, other] = childrenIn(shown(kept, { ...NOTHING_SAID, reports: [report()] }, NOW + DAY));
    expect(stopped).toMatchObject({ isStopped: true, isWaiting: true });
    expect([...(stopped?.reasons ?? [])]).toContain("symptom-urgent");
    expect(other).toMatchObject({ isStopped: false, isWaiting: false });
    const [exercise] = stopped?.exercises ?? [];
    const [reason] = exercise?.today.current.goAhead.reasons ?? [];
    expect(exercise && reason && reasonWorded(reason, exercise.exercise, kept).decided).toBe("Thu 5 Mar 2026, by the report");
    // The server has it, but what is kept does not know yet: still a stop.
    const [arrived] = childrenIn(shown(kept, { ...NOTHING_SAID, reports: [{ ...report(), sentAt: NOW }] }, NOW + DAY));
    expect(arrived).toMatchObject({ isStopped: true, isWaiting: false });
    expect(dateIn(kept, NOW + 400 * DAY)).toBe("Thu 26 Mar 2026");
  });

  it("asks a stop's question of this child alone, and not again once it was answered rightly here", async () => {
    addSymptom("s", "child-2", "today", NOW - HOUR);
    const kept = await keptFor(world.mother, NOW);
    const asked = (said: SaidHere) => childrenIn(shown(kept, said)).map(({ questions }) => questions.map(({ stopId, wasWrong }) => [stopId, wasWrong]));
    expect(asked(NOTHING_SAID)).toEqual([[], [["s", false]]]);
    const answered = (isRight: boolean, childId = "child-2") => ({ childId, stopId: "s", question: "practise", isRight });
    expect(asked({ ...NOTHING_SAID, tries: [answered(false)] })).toEqual([[], [["s", true]]]);
    expect(asked({ ...NOTHING_SAID, tries: [answered(false), answered(true)] })).toEqual([[], []]);
    expect(asked({ ...NOTHING_SAID, tries: [answered(true, "child-1")] })).toEqual([[], [["s", false]]]);
  });

  it("speaks the reader's language, sides included", async () => {
    const kept = await keptFor({ ...world.mother, reader: { ...world.mother.reader, locale: "es" } }, NOW);
    expect(kept.words["kept.offline"]).toContain("No tiene conexión");
    const [child] = kept.children;
    expect(child?.exercises[0]?.setup?.sideAndProp[0]).toContain("IZQUIERDO");
  });
});
