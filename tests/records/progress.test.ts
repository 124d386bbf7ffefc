import { and, eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { database } from "@/db/client";
import { curveRecords, phaseOpenings, setups } from "@/db/schema/care";
import ChildPage from "@/app/desk/children/[childId]/page";
import ProgressPage from "@/app/desk/children/[childId]/progress/page";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import type { Verdict } from "@/lib/domain/setup/vocabulary";
import { amendAnswer } from "@/lib/records/amendments";
import { markDone } from "@/lib/records/practice-days";
import { progressOf } from "@/lib/records/progress";
import { recordSeenLive } from "@/lib/records/seen-live";
import { closePhase } from "@/lib/records/setups";
import { addSet, answer, answeringWorld, EXERCISE, HOUR, NOW, send, verdictsOf } from "@/tests/records/answering-scene";
import { done, refused } from "@/tests/records/desk-scene";
import { markupOf } from "@/tests/records/markup";

const session = vi.hoisted((): { actor: unknown } => ({ actor: null }));
vi.mock("@/lib/access/session", () => ({ signedIn: async () => session.actor, currentActor: async () => session.actor }));

const DAY = 24 * HOUR;
/** Long enough for every answer of a scene to be in force. */
const THEN = NOW + 40 * DAY;

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => {
  vi.useFakeTimers({ toFake: ["Date"], now: THEN });
  world = answeringWorld();
});
afterEach(() => {
  world.close();
  vi.useRealTimers();
});

const page = async (who: Actor, childId = "child-1", query: { readonly all?: string } = {}) => {
  session.actor = who;
  return markupOf(await ProgressPage({ params: Promise.resolve({ childId }), searchParams: Promise.resolve(query) }));
};
const progress = async (childId = "child-1") => {
  const [only] = await progressOf(await grant(world.therapist, "progress.read", childId), THEN);
  if (!only) throw new Error("the scene has one exercise");
  return only;
};
const elbowIn = ({ rows }: Awaited<ReturnType<typeof progress>>) => rows.find((row) => row.itemKey === "elbow-high");

/** One photo set a day, answered within the hour; the id of each answer. */
async function judged(...elbow: readonly Verdict[]): Promise<readonly string[]> {
  const ids: string[] = [];
  for (const [at, verdict] of elbow.entries()) {
    addSet(`set-${at + 1}`, { sentAt: NOW + at * DAY });
    ids.push(done(await send(world.therapist, `set-${at + 1}`, { verdicts: verdictsOf("in-place", { "elbow-high": verdict }) }, NOW + at * DAY + HOUR)).answerId);
  }
  return ids;
}

describe("the progress of one child", () => {
  it("has a column a photo set, in order, and the ledger's own words", async () => {
    await judged("in-place", "in-place", "fix");
    const only = await progress();
    expect(only.looks.map(({ kind, id, at }) => [kind, id, (at - NOW) / DAY])).toEqual([["photo-set", "set-1", 0], ["photo-set", "set-2", 1], ["photo-set", "set-3", 2]]);
    expect(elbowIn(only)).toMatchObject({
      state: "slipped", stateSince: NOW + 2 * DAY + HOUR, photosAtFix: 1,
      cells: [{ verdict: "in-place", counts: true }, { verdict: "in-place", counts: true }, { verdict: "fix", counts: true }],
    });
    expect(only.rows.find((row) => row.itemKey === "stacked")).toMatchObject({ state: "settled", stateSince: NOW + DAY + HOUR });
    const html = await page(world.therapist);
    expect(html).toContain("Slipped (1)");
    expect(html).toMatch(/Elbow[^<]*<\/strong>, since Fri 6 Mar 2026/);
    expect(html).toContain('href="/desk/children/child-1/sets/set-3"');
  });

  it("keeps an amended answer in the column of its photo set, with the words in force alone", async () => {
    const [first] = await judged("fix", "in-place");
    const input = answer("set-1", { verdicts: verdictsOf("in-place") });
    done(await amendAnswer(await grant(world.therapist, "answer.write", "child-1"), input, { basedOn: first ?? "", reason: "Seen again." }, NOW + 3 * DAY));
    const only = await progress();
    expect(only.looks.map(({ id }) => id)).toEqual(["set-1", "set-2"]);
    expect(elbowIn(only)).toMatchObject({ state: "settled", cells: [{ verdict: "in-place" }, { verdict: "in-place" }] });
  });

  it("has a column for a visit, which is no photo set and opens none", async () => {
    await judged("fix", "fix");
    done(await recordSeenLive(await grant(world.therapist, "seen-live.record", "child-1"), {
      exerciseKey: EXERCISE, phase: "position", how: "visit", day: "2026-03-10", time: "09:00", note: "", sideReason: "", wordsConfirmed: false,
      verdicts: verdictsOf("in-place", { "elbow-high": "fix" }),
    }, NOW + 7 * DAY));
    const only = await progress();
    expect(only.looks.map(({ kind }) => kind)).toEqual(["photo-set", "photo-set", "visit"]);
    expect(elbowIn(only)).toMatchObject({ state: "working-on", photosAtFix: 2, cells: [{ verdict: "fix" }, { verdict: "fix" }, { verdict: "fix" }] });
    expect(await page(world.therapist)).toContain("Visit, Tue 10 Mar 2026");
  });

  it("says what an item stands at for three photos in a row, and not a photo sooner", async () => {
    await judged("fix", "not-visible", "fix");
    expect(await page(world.therapist)).not.toContain("time to look");
    addSet("set-4", { sentAt: NOW + 5 * DAY });
    done(await send(world.therapist, "set-4", { verdicts: verdictsOf("in-place", { "elbow-high": "fix" }) }, NOW + 5 * DAY + HOUR));
    expect(await page(world.therapist)).toContain("needed changing in the last 3 photo sets: time to look");
  });

  it("brackets what counts no longer after the sides changed, and starts the item again", async () => {
    await judged("in-place", "in-place");
    const [setup] = database().select().from(setups).where(eq(setups.id, "setup-child-1")).all();
    if (!setup) throw new Error("the scene has a set-up");
    database().insert(setups).values({ ...setup, id: "other-sides", sidesKey: "other", sequence: 2, confirmedAt: NOW + 3 * DAY }).run();
    expect(elbowIn(await progress())).toMatchObject({ state: "not-seen-yet", stateSince: null, cells: [{ counts: false }, { counts: false }] });
    expect(await page(world.therapist)).toContain("In place, counts no longer");
  });

  it("shows the newest eight photo sets, and all of them when asked", async () => {
    await judged(...Array.from({ length: 9 }, () => "in-place" as const));
    const newest = await page(world.therapist);
    expect(newest).not.toContain("/sets/set-1\"");
    expect(newest).toContain("The newest 8 of 9 are shown.");
    expect(await page(world.therapist, "child-1", { all: EXERCISE })).toContain("/sets/set-1\"");
  });

  it("says which phases were opened when and by whom, which closed, the days, and how old the record is", async () => {
    await judged("in-place");
    done(await closePhase(await grant(world.lead, "phase.open", "child-1"), EXERCISE, "position", NOW + 2 * DAY));
    database().insert(phaseOpenings).values({ id: "again", childId: "child-1", familyId: "family-a", exerciseKey: EXERCISE, phase: "position", openedBy: "lead", openedAt: NOW + 3 * DAY }).run();
    done(await markDone(await grant(world.mother, "practice-day.mark", "child-1"), EXERCISE, NOW + 4 * DAY));
    const html = await page(world.therapist);
    expect(html).toMatch(/Position<\/th><td>Thu 1 Jan 1970<\/td><td>therapist<\/td><td>Fri 6 Mar 2026<\/td>/);
    expect(html).toMatch(/Position<\/th><td>Sat 7 Mar 2026<\/td><td>lead<\/td><td>open<\/td>/);
    expect(html).toContain("Side-lying over a small prop, top arm up, March 2026");
    // Assessed on 10 February, read on 13 April 2026: 18 + 31 + 13 days.
    expect(html).toContain("Tue 10 Feb 2026, 62 days ago");
  });

  // Today is Mon 13 April 2026 in London.
  it.each([
    ["2026-04-12", "Sun 12 Apr 2026, 1 day ago: reassess before anything else"],
    ["2026-04-13", "Mon 13 Apr 2026: today"],
    ["2026-05-11", "Mon 11 May 2026, in 28 days: time to plan it"],
    ["2026-05-12", "Tue 12 May 2026, in 29 days"],
    [null, "No date set"],
  ])("says of a reassessment by %s: %s", async (reassessBy, words) => {
    database().update(curveRecords).set({ reassessBy }).where(eq(curveRecords.childId, "child-1")).run();
    expect(await page(world.therapist)).toContain(`<dd>${words}</dd>`);
  });

  it("has words for a child without photos, without set-up and without record", async () => {
    expect(await page(world.therapist)).toContain("Nothing was judged yet");
    database().delete(phaseOpenings).where(eq(phaseOpenings.childId, "child-2")).run();
    database().delete(setups).where(eq(setups.childId, "child-2")).run();
    database().delete(curveRecords).where(and(eq(curveRecords.childId, "child-2"))).run();
    const bare = await page(world.therapist, "child-2");
    for (const words of ["There is no curve record yet.", "No set-up is confirmed, so there are no items yet.", "No phase was opened yet.", "No day is marked yet."]) expect(bare).toContain(words);
  });

  it("is linked from the child's page and is the practice's staff's alone", async () => {
    session.actor = world.therapist;
    expect(await markupOf(await ChildPage({ params: Promise.resolve({ childId: "child-1" }) }))).toContain('href="/desk/children/child-1/progress"');
    for (const who of [world.mother, world.stranger, world.outsider]) expect(await refused(page(who))).toContain("NEXT_HTTP_ERROR_FALLBACK;404");
    expect(await page(world.lead)).toContain("child-1: progress");
  });
});
