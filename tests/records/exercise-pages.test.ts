import type { ReactNode } from "react";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import AnsweringPage from "@/app/desk/children/[childId]/sets/[photoSetId]/page";
import ChildPage from "@/app/desk/children/[childId]/page";
import SeenLivePage from "@/app/desk/children/[childId]/seen-live/page";
import SetupPage from "@/app/desk/children/[childId]/setup/page";
import StopPage from "@/app/desk/children/[childId]/stop/page";
import ExercisesPage from "@/app/desk/exercises/page";
import EditExercisePage from "@/app/desk/exercises/[exerciseKey]/edit/page";
import ExercisePage from "@/app/desk/exercises/[exerciseKey]/page";
import NewExercisePage from "@/app/desk/exercises/new/page";
import FamiliesPage from "@/app/desk/families/page";
import QueuePage from "@/app/desk/page";
import HistoryPage from "@/app/family/history/page";
import TodayPage from "@/app/family/page";
import SendPage from "@/app/family/send/page";
import type { Actor } from "@/lib/access/actor";
import { startExercise, saveExercise } from "@/lib/records/exercise-writing";
import { decide } from "@/tests/records/answering-scene";
import { deskWorld, done, enter, NOW, refused } from "@/tests/records/desk-scene";
import { change, confirmFor, OWN, sendFor, writing, written } from "@/tests/records/exercise-scene";
import { markupOf } from "@/tests/records/markup";

const session = vi.hoisted((): { actor: unknown } => ({ actor: null }));
vi.mock("@/lib/access/session", () => ({ signedIn: async () => session.actor, currentActor: async () => session.actor }));
vi.mock("next/navigation", async (original) => ({ ...await original<object>(), usePathname: () => "/desk/exercises", useRouter: () => ({}) }));

let world: ReturnType<typeof deskWorld>;
beforeEach(() => {
  vi.useFakeTimers({ toFake: ["Date"], now: NOW });
  world = deskWorld();
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
const query = <T extends object>(searchParams: T) => Promise.resolve(searchParams);
const reading = (exerciseKey: string, asked = {}) => () => ExercisePage({ params: Promise.resolve({ exerciseKey }), searchParams: query(asked) });
const editing = (exerciseKey: string, asked = {}) => () => EditExercisePage({ params: Promise.resolve({ exerciseKey }), searchParams: query(asked) });
const child = { params: Promise.resolve({ childId: "child-1" }) };

describe("the pages of exercises", () => {
  it("list what is taught, whose it is, and carry the caution", async () => {
    const key = await written(world.therapist);
    const list = await html(world.lead, () => ExercisesPage());
    expect(list).toContain("Side-lying over a small prop, top arm up");
    expect(list).toContain("Ships with the product. version 1. No child has it.");
    expect(list).toContain(`href="/desk/exercises/${key}"`);
    expect(list).toContain("taught only after an individual assessment");
    expect(await html(world.lead, () => NewExercisePage({ searchParams: query({ from: key }) }))).toMatch(new RegExp(`<option value="${key}" selected`));
  });

  it("show a version on every pattern, the refused ones too", async () => {
    const page = await html(world.lead, reading(await written(world.therapist)));
    expect(page).toContain("All 256 patterns, tried now: 2 covered, 2 adapted, 252 refused.");
    expect(page).toContain("For thoracic right, lumbar left");
    expect(page).toContain("175 patterns: A region was not assessed.");
    expect(page).toContain("A folded towel under the low back on the LEFT side");
    expect(page).toContain("Top hip forward");
    expect(page).toContain("Written by therapist");
    expect(page.match(/role="img"/g)).toHaveLength(4);
  });

  it("are nothing to another practice and to families", async () => {
    const key = await written(world.therapist);
    for (const page of [reading(key), editing(key), reading("nobody"), editing("side-lying")]) {
      expect(await refused(html(world.outsider, page))).toMatch(/404/);
      expect(await refused(html(world.mother, page))).toMatch(/404/);
    }
    expect(await html(world.outsider, reading("side-lying"))).toContain("Ships with the product");
  });
});

describe("the editor", () => {
  it("shows a copy with its preview and nothing wrong, ready to be checked and saved", async () => {
    const { key } = done(await startExercise(await writing(world.therapist), { title: "Long side", from: "side-lying" }, NOW));
    const page = await html(world.therapist, editing(key));
    expect(page).toContain("It becomes version 1 when you save it.");
    expect(page).toContain("252 refused");
    expect(page).toContain("I have checked every row of the preview; this is taught only after individual assessment");
    expect(page).not.toContain("To mend before it can be saved");
    // Enter presses the first button: it must be the one that only checks.
    expect(page.match(/<button[^>]*type="submit"[^>]*>/)?.[0]).toContain('value="check"');
    expect(page).not.toMatch(/value="item-remove:side-down"/);
    expect(page).not.toMatch(/<input[^>]*name="sure"[^>]*checked=""/);
  });

  it("says a blank one's problems only when asked, at the fields and in a list", async () => {
    const { key } = done(await startExercise(await writing(world.therapist), { title: "Left side up", from: null }, NOW));
    const fresh = await html(world.therapist, editing(key));
    expect(fresh).toContain("The preview appears when every choice is made.");
    expect(fresh).not.toContain('aria-invalid="true"');
    done(await change(world.therapist, key, { button: "check" }));
    const asked = await html(world.therapist, editing(key, { told: "exercise-incomplete" }));
    expect(asked).toContain("To mend before it can be saved");
    expect(asked).toContain("No left or right here");
    expect(asked).toContain("Rule 1: Choose one.");
    expect(asked).toContain("This exercise cannot be taught as it stands.");
    expect(asked.match(/aria-invalid="true"/g)?.length).toBeGreaterThan(10);
  });

  it("holds both in hand when somebody saved one meanwhile", async () => {
    const key = await written(world.therapist);
    done(await change(world.therapist, key, { title: "Mine to keep" }));
    const { draftVersion } = done(await change(world.lead, key, { title: "Theirs instead" }));
    done(await saveExercise(await writing(world.lead), key, draftVersion, NOW));
    const page = await html(world.therapist, editing(key, { told: "exercise-version-taken" }));
    expect(page).toContain('value="Mine to keep"');
    expect(page).toContain("<strong>Theirs instead</strong>");
    expect(page).toContain("Version 2 by lead");
    expect(page).toContain('value="rebase"');
  });
});

describe("every page that names an exercise", () => {
  const SET = "11111111-1111-4111-8111-111111111111";

  it("names a therapist's by its own words, and says where a newer version waits", async () => {
    const key = await written(world.therapist);
    decide("child-1", "family-a", "given", 1);
    const { id } = done(await enter(world.therapist, "child-1"));
    await confirmFor(world.therapist, key, id);
    await sendFor(world.mother, key, SET, NOW);
    const title = OWN["title"] ?? "";
    const desk: Readonly<Record<string, () => Promise<ReactNode>>> = {
      child: () => ChildPage(child), setup: () => SetupPage(child), stop: () => StopPage(child),
      live: () => SeenLivePage({ ...child, searchParams: query({}) }), queue: () => QueuePage({ searchParams: query({}) }),
      answer: () => AnsweringPage({ params: Promise.resolve({ childId: "child-1", photoSetId: SET }), searchParams: Promise.resolve({}) }),
      families: () => FamiliesPage({ searchParams: query({}) }),
    };
    for (const [name, page] of Object.entries(desk)) expect(await html(world.therapist, page), name).toContain(title);
    expect(await html(world.therapist, () => SetupPage(child))).not.toContain("There is a newer version of this exercise.");
    const family = {
      today: () => TodayPage(), history: () => HistoryPage({ searchParams: query({}) }), choose: () => SendPage({ searchParams: query({}) }),
      send: () => SendPage({ searchParams: query({ child: "child-1", exercise: key }) }),
    };
    for (const [name, page] of Object.entries(family)) expect(await html(world.mother, page), name).toContain(title);
    for (const page of [family.today, family.send]) expect(await html(world.mother, page)).toContain("Only after a lesson in person.");

    const { draftVersion } = done(await change(world.lead, key, { title: "Quite another name" }));
    done(await saveExercise(await writing(world.lead), key, draftVersion, NOW));
    expect(await html(world.therapist, () => SetupPage(child))).toContain("There is a newer version of this exercise. Confirm the set-up again.");
    expect(await html(world.therapist, reading(key))).toContain("child-1: version 1. There is a newer one");
    for (const [name, page] of Object.entries(family)) expect(await html(world.mother, page), name).not.toContain("Quite another name");
  });
});
