import type { ReactNode } from "react";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import CuesPage from "@/app/desk/cues/page";
import AnsweringPage from "@/app/desk/children/[childId]/sets/[photoSetId]/page";
import ExercisesPage from "@/app/desk/exercises/page";
import TranslationPage from "@/app/desk/exercises/[exerciseKey]/translation/page";
import PracticePage from "@/app/desk/practice/page";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { libraryOf, retireCue, saveCue } from "@/lib/records/cues";
import { saveDraft } from "@/lib/records/drafts";
import { addSet, answeringWorld, EXERCISE, NOW } from "@/tests/records/answering-scene";
import { done, refused } from "@/tests/records/desk-scene";
import { markupOf } from "@/tests/records/markup";

const session = vi.hoisted((): { actor: unknown } => ({ actor: null }));
vi.mock("@/lib/access/session", () => ({ signedIn: async () => session.actor, currentActor: async () => session.actor }));

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => {
  vi.useFakeTimers({ toFake: ["Date"], now: NOW });
  world = answeringWorld();
});
afterEach(() => {
  world.close();
  vi.useRealTimers();
});

/** The page as this person gets it. */
async function html(who: Actor, page: () => Promise<ReactNode>): Promise<string> {
  session.actor = who;
  return markupOf(await page());
}
const library = (search: Readonly<Record<string, string>> = {}) => () => CuesPage({ searchParams: Promise.resolve(search) });
const section = (page: string, itemKey: string): string => page.split(`id="item-${itemKey}"`)[1]?.split("<section id=")[0] ?? "";
const write = () => grant(world.therapist, "cues.write", null);
const retire = async (id: string) => done(await retireCue(await write(), { exerciseKey: EXERCISE, id, version: 0 }, NOW));

describe("the library's page", () => {
  it("lists every item with its cues, as written, and a way to change and add", async () => {
    const page = await html(world.therapist, library());
    const shipped = await libraryOf(await grant(world.therapist, "cues.read", null), EXERCISE, NOW);
    expect(page.match(/<section id="item-/g)).toHaveLength(16);
    expect(page.match(/>Change</g)).toHaveLength(shipped.length);
    expect(page.match(/>Add a cue</g)).toHaveLength(16);
    expect(section(page, "elbow-high")).toContain("Not chosen lately · as shipped");
    expect(section(page, "elbow-high")).toContain("{top arm side}");
    expect(page).not.toContain("<textarea");
  });

  it("opens one in its place, with the sides to put in and what each family will read", async () => {
    const part = section(await html(world.therapist, library({ exercise: EXERCISE, cue: "ribs-wide.one-side" })), "ribs-wide");
    expect(part).toMatch(/<textarea[^>]*>Breathe in and widen the ribs on the \{breath side\} side/);
    for (const side of ["side down", "top arm side", "bottom arm side", "top leg side", "bottom leg side", "breath side", "prop side"]) {
      expect(part).toContain(`>{${side}}</button>`);
    }
    expect(part).toContain("<dt>thoracic right, lumbar left</dt><dd>Breathe in and widen the ribs on the LEFT side.");
    expect(part).toContain("<dt>thoracic left, lumbar right</dt><dd>Breathe in and widen the ribs on the RIGHT side.");
    expect(part.match(/Not offered here: this set-up names no breath side\./g)).toHaveLength(2);
    expect(part).toContain('name="version" value="0"');
  });

  it("opens an empty one for an item", async () => {
    const part = section(await html(world.therapist, library({ exercise: EXERCISE, item: "stacked" })), "stacked");
    expect(part).toContain("A new cue for: Shoulders and hips stacked");
    expect(part).toContain('name="id" value=""');
    expect(part).toContain("Write, and see it here for each set-up of this exercise.");
  });

  it("says when an item has none left, and keeps the retired ones to return", async () => {
    for (const name of ["higher", "no-drop"]) await retire(`elbow-high.${name}`);
    const part = section(await html(world.therapist, library()), "elbow-high");
    expect(part).toContain("No cue is offered for this item");
    expect(part).toContain("Retired (2)");
    expect(part.match(/>Return to the list</g)).toHaveLength(2);
  });

  it("says who changed one and when, shows the shipped words beside it, and points out hard reading", async () => {
    const words = "Facilitate appropriate elongation of the contralateral musculature ({top arm side}) while maintaining derotation.";
    done(await saveCue(await write(), { exerciseKey: EXERCISE, itemKey: "elbow-high", id: "elbow-high.higher", words, version: 0 }, NOW));
    const part = section(await html(world.lead, library({ exercise: EXERCISE, cue: "elbow-high.higher" })), "elbow-high");
    expect(part).toContain("As shipped: “Top arm ({top arm side}): lift the elbow higher, so that the ribs can open.”");
    const row = section(await html(world.lead, library()), "elbow-high");
    expect(row).toContain("changed Wed 4 Mar 2026 by therapist");
    expect(row).toContain("Simpler? Families read best at grade 6 or below.");
    expect(row).toContain("Long words: facilitate, appropriate, elongation");
  });

  it("says which cue has nothing in another language, with the way to write it, and how many on the list of exercises", async () => {
    expect(await html(world.therapist, library())).not.toContain("Not in Español yet");
    const exercises = () => html(world.therapist, () => ExercisesPage());
    expect(await exercises()).not.toMatch(/not in Español yet/);
    done(await saveCue(await write(), { exerciseKey: EXERCISE, itemKey: "elbow-high", id: "elbow-high.higher", words: "Lift the elbow ({top arm side}) a little more.", version: 0 }, NOW));
    const page = await html(world.therapist, library());
    expect(page.match(/Not in Español yet/g)).toHaveLength(1);
    const [, href] = /<a [^>]*href="([^"]*)"[^>]*>Not in Español yet/.exec(section(page, "elbow-high")) ?? [];
    expect(href).toBe(`/desk/exercises/${EXERCISE}/translation?language=es&amp;text=cue+${EXERCISE}+elbow-high.higher#in-hand`);
    expect(await exercises()).toContain("1 text is not in Español yet");
    const form = await html(world.therapist, () => TranslationPage({
      params: Promise.resolve({ exerciseKey: EXERCISE }), searchParams: Promise.resolve({ language: "es", text: `cue ${EXERCISE} elbow-high.higher` }),
    }));
    expect(form.split('id="in-hand"')[1]?.split("</section>")[0]).toContain("No translation yet");
  });

  it("takes what the address asks for and nothing else", async () => {
    for (const search of [{ exercise: "hop", cue: "<b>", item: "<b>" }, { exercise: "constructor" }]) {
      const page = await html(world.therapist, library(search));
      expect(page).not.toContain("<textarea");
      expect(page.match(/<section id="item-/g)).toHaveLength(16);
    }
  });

  it("is the staff's, and is reached from the practice's page", async () => {
    for (const who of [world.mother, world.stranger]) expect(await refused(html(who, library()))).toMatch(/404/);
    expect(await html(world.therapist, () => PracticePage())).toContain('href="/desk/cues"');
  });
});

describe("cues on the answering desk", () => {
  const desk = () => AnsweringPage({ params: Promise.resolve({ childId: "child-1", photoSetId: "set" }), searchParams: Promise.resolve({}) });
  const radios = (page: string, itemKey: string): readonly string[] => page.match(new RegExp(`<input[^>]*name="cue\\.${itemKey}"[^>]*>`, "g")) ?? [];
  const valueOf = (radio: string): string => /value="([^"]*)"/.exec(radio)?.[1] ?? "";

  beforeEach(() => {
    addSet("set");
  });

  it("stand as one choice an item, numbered, by id, with this child's sides, none of them chosen", async () => {
    const page = await html(world.therapist, desk);
    const own = radios(page, "elbow-high");
    expect(own.map(valueOf)).toEqual(["elbow-high.higher", "elbow-high.no-drop", "none"]);
    expect(own.map((radio) => /data-cue-index="(\d+)"/.exec(radio)?.[1])).toEqual(["1", "2", "0"]);
    expect(own.join("")).not.toContain("checked");
    expect(page).toContain("Top arm (RIGHT): lift the elbow higher, so that the ribs can open.");
    expect(page).toContain(`name="cuesReadAt" value="${NOW}"`);
    expect(page).not.toMatch(/\{(?:top|bottom|side|breath|prop)[^}]*\}/);
  });

  it("come back from a draft: chosen by id though retired since, older text as own words", async () => {
    const fields = { "verdict.elbow-high": "fix", "cue.elbow-high": "elbow-high.higher", "verdict.stacked": "fix", "cue.stacked": "Roll forward a little." };
    done(await saveDraft(await grant(world.therapist, "answer.write", "child-1"), "set", { fields, version: 0 }, NOW));
    await retire("elbow-high.higher");
    const page = await html(world.therapist, desk);
    expect(radios(page, "elbow-high").filter((radio) => radio.includes("checked")).map(valueOf)).toEqual(["elbow-high.higher"]);
    expect(radios(page, "stacked").join("")).not.toContain("checked");
    expect(page).toMatch(/<input[^>]*name="words\.stacked"[^>]*value="Roll forward a little\."/);
    expect(radios(await html(world.colleague, desk), "elbow-high").map(valueOf)).toEqual(["elbow-high.no-drop", "none"]);
  });
});
