import { afterEach, beforeEach, describe, expect, it } from "vitest";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { coveredSetups } from "@/lib/domain/setup/covered-patterns";
import { sidesKey, sidesOfKey } from "@/lib/domain/setup/setup-sides";
import { checkTranslation } from "@/lib/domain/words/check-translation";
import { offerCue } from "@/lib/domain/words/cue";
import { say } from "@/lib/messages/say";
import { shippedWords } from "@/lib/messages/shipped-words";
import { starterCues } from "@/lib/messages/starter-cues";
import { saveCue } from "@/lib/records/cues";
import { exerciseWords } from "@/lib/records/exercise-names";
import { exerciseOf } from "@/lib/records/exercises";
import { saveTranslation, translationsOf } from "@/lib/records/translations";
import { addPerson, makeWorld } from "@/tests/records/world";

const T = Date.UTC(2026, 2, 3, 16, 20);
const KEY = "side-lying";
let world: ReturnType<typeof makeWorld>;
let therapist: Actor;
beforeEach(() => {
  world = makeWorld();
  therapist = addPerson("therapist", "therapist");
});
afterEach(() => world.close());

const setups = () => coveredSetups(exerciseOf("practice", KEY)).map((each) => each.setup);
const firstSetup = () => {
  const [setup] = setups();
  if (!setup) throw new Error("no pattern is covered");
  return setup;
};
const texts = async () => (await translationsOf(await grant(therapist, "cues.read", null), KEY, "es", T)) ?? [];
const about = async (name: string) => (await texts()).find((each) => each.about === name);
const CUE = `cue ${KEY} side-down.turn-over`;
const english = (words: string, setup: ReturnType<typeof setups>[number]) => {
  const offered = offerCue(words, setup, (side) => side.toUpperCase());
  return offered.ok ? offered.value : "";
};
const spanish = () => exerciseWords("practice", KEY, 1, "es");

async function save(name: string, words: string, change: { readonly source?: string; readonly version?: number } = {}) {
  const there = await about(name);
  const granted = await grant(therapist, "cues.write", null, crypto.randomUUID());
  const input = { exerciseKey: KEY, language: "es" as const, about: name, source: there?.source ?? "", version: there?.version ?? 0, words, ...change };
  return saveTranslation(granted, await grant(therapist, "cues.read", null), input, T);
}

describe("the shipped exercise in Spanish", () => {
  it("has every title and cue, each as a therapist's own would have to be", async () => {
    expect((await texts()).filter((each) => each.words === null)).toEqual([]);
    const shipped = [...shippedWords("es")];
    expect(shipped.length).toBeGreaterThan(40);
    for (const [source, words] of shipped) {
      if (words.length > 280) continue;
      expect(checkTranslation(source, words, setups()), words).toMatchObject({ ok: true });
    }
  });

  it("says each cue with the sides of that day, for either pattern, and agrees in gender", () => {
    const sideOf = (text: string) => [...text.matchAll(/LEFT|IZQUIERD[OA]|RIGHT|DERECH[OA]/g)].map(([word]) => (/^[LI]/.test(word) ? "left" : "right"));
    let filled = 0;
    for (const setup of setups()) {
      for (const { key } of exerciseOf("practice", KEY).items) {
        for (const cue of starterCues(key)) {
          const given = english(cue.words, setup);
          if (given === "") continue;
          const said = spanish().cue({ itemKey: key, cueId: cue.key, cue: given, sidesKey: sidesKey(setup) }) ?? "";
          expect(said).not.toBe(given);
          expect(sideOf(said).sort(), said).toEqual(sideOf(given).sort());
          expect(said).not.toMatch(/(?:pierna|rodilla)[^.:]*\((?:IZQUIERDO|DERECHO)|(?:brazo|codo)[^.:]*\((?:IZQUIERDA|DERECHA)|[{}]/i);
          filled += sideOf(said).length;
        }
      }
    }
    expect(filled).toBeGreaterThan(20);
  });
});

describe("a cue that was sent", () => {
  const given = (cue: string, sides = sidesKey(firstSetup()), cueId: string | null = "side-down.turn-over") => ({ itemKey: "side-down", cueId, cue, sidesKey: sides });

  it("keeps its own words behind it, as they were typed", () => {
    const names = spanish();
    const sent = english(starterCues("side-down")[0]?.words ?? "", firstSetup());
    expect(names.cue(given(`${sent} Take your time.`))).toMatch(/^Pare\. Dese la vuelta .* Take your time\.$/);
  });

  it("stays English and says so when its sides are not those of its day, or nobody knows its source", () => {
    const names = spanish();
    const wrong = "Stop. Turn over and lie on the SIDEWAYS side.";
    expect(names.cue(given(wrong))).toBe(wrong);
    expect(names.cue(given("My own words.", undefined, null))).toBe("My own words.");
    expect(names.languageOf("My own words.")).toBeUndefined();
    const other = english(starterCues("side-down")[0]?.words ?? "", firstSetup());
    const mirrored = other.replaceAll(/LEFT|RIGHT/g, (side) => (side === "LEFT" ? "RIGHT" : "LEFT"));
    expect(names.cue(given(mirrored))).toBe(mirrored);
  });
});

describe("a therapist's translation", () => {
  it("keeps every side, types none, and takes the place of the shipped one", async () => {
    expect(await save(CUE, "Dese la vuelta.")).toMatchObject({ ok: false, problem: { code: "translation-sides-differ" } });
    expect(await save(CUE, "Túmbese sobre el lado {side down} y {side down}.")).toMatchObject({ ok: false, problem: { code: "translation-sides-differ" } });
    expect(await save(CUE, "Túmbese sobre el lado izquierdo. {side down}")).toMatchObject({ ok: false, problem: { code: "cue-side-typed" } });
    expect(await save(CUE, "Pare y túmbese sobre el lado {side down}.")).toEqual({ ok: true, value: null });
    expect(await about(CUE)).toMatchObject({ words: "Pare y túmbese sobre el lado {side down}.", isShipped: false, version: 1 });
    expect(await save(CUE, "Otra vez, sobre el lado {side down}.", { version: 0 })).toMatchObject({ ok: false, problem: { code: "stale-version" } });
  });

  it("no longer counts once its source changed, and is shown as out of date", async () => {
    await save(CUE, "Pare y túmbese sobre el lado {side down}.");
    const write = await grant(therapist, "cues.write", null, crypto.randomUUID());
    await saveCue(write, { exerciseKey: KEY, itemKey: "side-down", id: "side-down.turn-over", words: "Please turn onto the {side down} side.", version: 0 }, T);
    expect(await about(CUE)).toMatchObject({ words: null, outdated: "Pare y túmbese sobre el lado {side down}." });
    expect(await save(CUE, "Gire sobre el lado {side down}.", { source: "an older text" })).toMatchObject({ ok: false, problem: { code: "stale-version" } });
    const sent = english("Please turn onto the {side down} side.", firstSetup());
    const names = spanish();
    expect(names.cue({ itemKey: "side-down", cueId: "side-down.turn-over", cue: sent, sidesKey: sidesKey(firstSetup()) })).toBe(sent);
    expect(names.languageOf(sent)).toBe("en");
  });
});

it("reads back the sides behind a key, and nothing else", () => {
  for (const setup of setups()) {
    const read = sidesOfKey(sidesKey(setup));
    expect(read).toMatchObject({ lieOn: setup.lieOn, topArm: { side: setup.topArm.side }, bottomLeg: { side: setup.bottomLeg.side } });
    expect(read?.breatheInto?.side).toBe(setup.breatheInto?.side);
  }
  for (const odd of ["", "lie-left", "lie-up prop-none"]) expect(sidesOfKey(odd)).toBeNull();
  expect(say("exercise", { locale: "es", voice: "carer" })("cueSide", { about: "leg", side: "left" })).toBe("IZQUIERDA");
});
