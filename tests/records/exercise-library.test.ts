import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { setups } from "@/db/schema/care";
import { exercisesRetired, exerciseVersions } from "@/db/schema/teaching";
import { grant } from "@/lib/access/grant";
import type { Exercise } from "@/lib/domain/setup/exercise";
import type { ExerciseWords } from "@/lib/domain/setup/exercise-words.schema";
import { SIDE_LYING } from "@/lib/domain/setup/side-lying";
import { exercisesOf, exercisesToSetUp } from "@/lib/records/child-exercises";
import { exerciseWords } from "@/lib/records/exercise-names";
import { exerciseKeys, exerciseOf, isExerciseKey, taughtKeys } from "@/lib/records/exercises";
import { confirmSetup, proposedSetup } from "@/lib/records/setups";
import { standingOf } from "@/lib/records/standing";
import { codeOf, deskWorld, done, enter, NOW } from "@/tests/records/desk-scene";

let world: ReturnType<typeof deskWorld>;
beforeEach(() => { world = deskWorld(); });
afterEach(() => world.close());

const KEY = "long-side";
const [double, lumbar] = SIDE_LYING.variations;
if (!double || !lumbar) throw new Error("the shipped exercise has two variations");
/** A therapist's exercise; the second version is taught to a lumbar curve alone and calls one item otherwise. */
const FIRST: Exercise = { ...SIDE_LYING, key: KEY, titleKey: KEY, version: 1 };
const SECOND: Exercise = { ...FIRST, version: 2, variations: [lumbar] };
const words = (change: Partial<ExerciseWords> = {}): ExerciseWords =>
  ({ form: 1, title: "Long side", items: { "side-down": "The side that is down", "elbow-high": "Elbow up" }, cautions: ["Only after a lesson in person."], ...change });

function write(exercise: Exercise, said: ExerciseWords, practiceId = "practice") {
  database().insert(exerciseVersions).values({
    id: crypto.randomUUID(), practiceId, exerciseKey: exercise.key, version: exercise.version, body: JSON.stringify(exercise), words: JSON.stringify(said),
    writtenBy: "therapist", writtenAt: NOW + exercise.version,
  }).run();
}
const reading = async () => grant(world.therapist, "child.read", "child-1");
const confirm = async (recordId: string, exerciseVersion: number, now = NOW) => confirmSetup(await grant(world.therapist, "setup.confirm", "child-1"), {
  exerciseKey: KEY, exerciseVersion, recordId, apexSpot: "two fingers above the hip bone", lieOn: "left",
}, now);

describe("the practice's library", () => {
  it("holds the shipped exercise and the practice's own, each version as it was written", () => {
    write(FIRST, words());
    write(SECOND, words());
    expect(exerciseKeys("practice")).toEqual(["side-lying", KEY]);
    expect(exerciseOf("practice", KEY)).toEqual(SECOND);
    expect(exerciseOf("practice", KEY, 1)).toEqual(FIRST);
    expect(exerciseOf("practice", "side-lying")).toEqual(SIDE_LYING);
    expect(() => exerciseOf("practice", KEY, 3)).toThrow("no such exercise");
  });

  it("is no other practice's", () => {
    write(FIRST, words());
    expect(exerciseKeys("elsewhere")).toEqual(["side-lying"]);
    expect(isExerciseKey("elsewhere", KEY)).toBe(false);
    expect(() => exerciseOf("elsewhere", KEY)).toThrow("no such exercise");
    expect(exerciseWords("elsewhere", KEY, 1).title).toBe("long side");
  });

  it("teaches a retired one no more", () => {
    write(FIRST, words());
    database().insert(exercisesRetired).values({ id: "r", practiceId: "practice", exerciseKey: KEY, retiredBy: "lead", retiredAt: NOW }).run();
    expect(taughtKeys("practice")).toEqual(["side-lying"]);
    expect(exerciseKeys("practice")).toContain(KEY);
  });
});

describe("names", () => {
  it("are those of the version, and an item that a version dropped keeps its name", () => {
    write(FIRST, words());
    write(SECOND, words({ title: "Long side, low curve", items: { "side-down": "Side down" } }));
    const first = exerciseWords("practice", KEY, 1);
    const second = exerciseWords("practice", KEY, 2);
    expect([first.title, first.itemTitle("side-down"), first.cautions]).toEqual(["Long side", "The side that is down", ["Only after a lesson in person."]]);
    expect([second.title, second.itemTitle("side-down"), second.itemTitle("elbow-high")]).toEqual(["Long side, low curve", "Side down", "Elbow up"]);
    expect(exerciseWords("practice", KEY, null).title).toBe("Long side, low curve");
  });

  it("come from the catalogue for a shipped one, and never fail", () => {
    const shipped = exerciseWords("practice", "side-lying", 1);
    expect(shipped.title).toBe("Side-lying over a small prop, top arm up");
    expect(shipped.itemTitle("prop-low-back")).toBe("Prop under the low back");
    expect(shipped.itemTitle("no-such-item")).toBe("no such item");
    expect(exerciseWords("practice", "constructor", null).title).toBe("constructor");
  });
});

describe("a child's exercises", () => {
  it("are the shipped ones until a therapist confirms another, which a retired one stays", async () => {
    const { id } = done(await enter(world.therapist, "child-1"));
    write(FIRST, words());
    expect(await exercisesOf(await reading())).toEqual(["side-lying"]);
    expect(await exercisesToSetUp(await grant(world.therapist, "setup.confirm", "child-1"))).toEqual(["side-lying", KEY]);
    done(await confirm(id, 1));
    database().insert(exercisesRetired).values({ id: "r", practiceId: "practice", exerciseKey: KEY, retiredBy: "lead", retiredAt: NOW }).run();
    expect(await exercisesOf(await reading())).toEqual(["side-lying", KEY]);
    expect(await exercisesToSetUp(await grant(world.therapist, "setup.confirm", "child-2"))).toEqual(["side-lying"]);
  });

  it("are never none, though every shipped one is retired: a stop must be seen", async () => {
    database().insert(exercisesRetired).values({ id: "r", practiceId: "practice", exerciseKey: "side-lying", retiredBy: "lead", retiredAt: NOW }).run();
    expect(await exercisesOf(await reading())).toEqual(["side-lying"]);
  });
});

describe("a newer version", () => {
  it("waits: the set-up in force, its items and its names stay as confirmed", async () => {
    const { id } = done(await enter(world.therapist, "child-1"));
    write(FIRST, words());
    done(await confirm(id, 1));
    const before = await standingOf(await reading(), KEY, NOW);
    // Its only rule is for another pattern: taken up by itself, it would close the exercise.
    write(SECOND, words({ title: "Another title" }));
    const after = await standingOf(await reading(), KEY, NOW);
    expect({ ...after, names: after.names.title }).toEqual({ ...before, names: "Long side" });
    expect(after.isNotCovered).toBe(false);
    expect(database().select().from(setups).all()).toHaveLength(1);
    expect((await proposedSetup(await reading(), KEY)).resolution.coverage).toBe("not-covered");
  });

  it("is never confirmed by a page that showed the old one", async () => {
    const { id } = done(await enter(world.therapist, "child-1"));
    write(FIRST, words());
    write({ ...FIRST, version: 2 }, words());
    expect(codeOf(await confirm(id, 1))).toBe("stale-version");
    done(await confirm(id, 2));
    expect((await standingOf(await reading(), KEY, NOW)).setup?.exerciseVersion).toBe(2);
  });
});
