import type { ReactNode } from "react";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import ChildPage from "@/app/desk/children/[childId]/page";
import CurvePage from "@/app/desk/children/[childId]/curve/page";
import SetupPage from "@/app/desk/children/[childId]/setup/page";
import FamiliesPage from "@/app/desk/families/page";
import FamilyPage from "@/app/desk/families/[familyId]/page";
import PracticePage from "@/app/desk/practice/page";
import TimesPage from "@/app/desk/times/page";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { confirmSetup, openPhase } from "@/lib/records/setups";
import { curve, NONE, SAID, withRegions } from "@/tests/domain/curve-record-scene";
import { deskWorld, done, enter, EXERCISE, NOW, refused } from "@/tests/records/desk-scene";
import { markupOf } from "@/tests/records/markup";

const session = vi.hoisted((): { actor: unknown } => ({ actor: null }));
vi.mock("@/lib/access/session", () => ({ signedIn: async () => session.actor, currentActor: async () => session.actor }));

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
const child = (childId = "child-1") => ({ params: Promise.resolve({ childId }) });
const families = (find?: string) => () => FamiliesPage({ searchParams: Promise.resolve(find === undefined ? {} : { find }) });

describe("the desk's list of families", () => {
  it("says per child what may be done, for which back, and what is missing", async () => {
    const empty = await html(world.therapist, families());
    expect(empty.match(/Not yet: do not do it/g)).toHaveLength(3);
    done(await enter(world.therapist, "child-1"));
    const entered = await html(world.therapist, families());
    expect(entered).toContain("thoracic right, lumbar left");
    expect(entered).toContain("Never sent");
  });

  it("finds by a child's or family's name", async () => {
    const found = await html(world.therapist, families("CHILD-3"));
    expect(found).toContain("family-b");
    expect(found).not.toContain("family-a");
    expect(await html(world.therapist, families("nobody"))).toContain("No family or child has this name.");
  });
});

describe("the curve record editor", () => {
  it("preselects nothing, asks how the film was viewed, and carries the caution", async () => {
    const page = await html(world.therapist, () => CurvePage(child()));
    expect(page).not.toMatch(/checked=""/);
    expect(page.match(/type="radio"/g)).toHaveLength(3 + 3 + 4 * 4 + 2 * 4);
    expect(page).toContain("How was the picture looked at?");
    expect(page).toContain("does not diagnose, prescribe or replace an assessment");
    expect(page).toContain("The spine seen from behind");
  });
});

describe("the set-up page", () => {
  it("says the proposal with its side, and asks for the side again without choosing it", async () => {
    done(await enter(world.therapist, "child-1"));
    const page = await html(world.therapist, () => SetupPage(child()));
    expect(page).toContain("Lie on the LEFT side.");
    expect(page).toContain("Top arm (RIGHT)");
    expect(page).not.toContain("Lie on the RIGHT side.");
    expect(page).not.toMatch(/checked=""/);
  });

  it("shows no set-up where the rules do not reach: the reason, and pickers", async () => {
    done(await enter(world.therapist, "child-1", {
      draft: { ...withRegions({ thoracic: curve("right", "T8"), lumbar: NONE }), prominence: { ribs: "right", lowBack: "none" } },
      said: { ...SAID, readBack: { thoracic: "right" } },
    }));
    const page = await html(world.therapist, () => SetupPage(child()));
    expect(page).toContain("A thoracic curve alone. The rules do not say which side is down.");
    expect(page).not.toMatch(/Lie on the (LEFT|RIGHT)/);
    expect(page).toContain("Choose the side down a second time");
  });

  it("warns when the record changed since", async () => {
    const first = done(await enter(world.therapist, "child-1"));
    done(await confirmSetup(await grant(world.therapist, "setup.confirm", "child-1"), { exerciseKey: EXERCISE, exerciseVersion: 1, recordId: first.id, apexSpot: "the spot", lieOn: "left" }, NOW));
    expect(await html(world.therapist, () => SetupPage(child()))).not.toContain("The curve record changed on");
    done(await enter(world.lead, "child-1", { basedOn: first.id, now: NOW + 1 }));
    expect(await html(world.therapist, () => SetupPage(child()))).toContain("The curve record changed on");
    expect(await html(world.therapist, () => ChildPage(child()))).toContain("The curve record changed after this set-up was confirmed.");
  });
});

describe("the child's page", () => {
  it("says the go-ahead of each phase with its reason, date and who", async () => {
    const { id } = done(await enter(world.therapist, "child-1"));
    done(await confirmSetup(await grant(world.therapist, "setup.confirm", "child-1"), { exerciseKey: EXERCISE, exerciseVersion: 1, recordId: id, apexSpot: "the spot", lieOn: "left" }, NOW));
    done(await openPhase(await grant(world.therapist, "phase.open", "child-1"), EXERCISE, "position", NOW));
    const page = await html(world.therapist, () => ChildPage(child()));
    expect(page).toContain("Photo first");
    expect(page).toContain("Side down: never seen in place.");
    expect(page).toContain("This phase is not opened.");
    expect(page).toContain("Confirmed Mon 2 Mar 2026 by therapist");
    expect(page).toContain("The spot: the spot.");
    expect(page).toContain("/desk/children/child-1/clearance");
  });
});

describe("who sees the desk", () => {
  const PAGES: Readonly<Record<string, () => Promise<ReactNode>>> = {
    families: families(), child: () => ChildPage(child()), curve: () => CurvePage(child()), setup: () => SetupPage(child()),
    family: () => FamilyPage({ params: Promise.resolve({ familyId: "family-a" }) }), times: () => TimesPage({ searchParams: Promise.resolve({}) }), practice: () => PracticePage(),
  };
  for (const [name, page] of Object.entries(PAGES)) {
    it(`${name}: staff, and neither a parent nor a stranger`, async () => {
      expect(await html(world.lead, page)).toContain("<h1");
      for (const who of [world.mother, world.stranger]) expect(await refused(html(who, page))).toMatch(/404/);
    });
  }

  it("shows settings forms to the lead alone", async () => {
    expect(await html(world.lead, () => PracticePage())).toContain("symptomHours");
    const seen = await html(world.therapist, () => PracticePage());
    expect(seen).not.toContain("<form");
    expect(seen).toContain("Only the practice lead can change these.");
    expect(seen).toContain("09:00-17:00");
  });
});
