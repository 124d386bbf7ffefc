import { eq } from "drizzle-orm";
import type { ReactNode } from "react";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import TeachingPage from "@/app/desk/teaching/page";
import PlanPage from "@/app/desk/teaching/plan/page";
import { database } from "@/db/client";
import { consents } from "@/db/schema/care";
import { photoSets } from "@/db/schema/photos";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { TAKE_BACK_MS } from "@/lib/domain/answering/publication";
import { patternOf } from "@/lib/domain/curve/record";
import { amendAnswer } from "@/lib/records/amendments";
import { askForNewPhoto } from "@/lib/records/answers";
import { pointsToTeach, taughtIn } from "@/lib/records/teaching";
import { RECORD } from "@/tests/domain/curve-record-scene";
import { addSet, answer, answeringWorld, decide, EXERCISE, familyOfChild, HOUR, NOW, send, verdictsOf } from "@/tests/records/answering-scene";
import { done, refused } from "@/tests/records/desk-scene";
import { markupOf } from "@/tests/records/markup";

const session = vi.hoisted((): { actor: unknown } => ({ actor: null }));
vi.mock("@/lib/access/session", () => ({ signedIn: async () => session.actor, currentActor: async () => session.actor }));

const OUT = NOW + TAKE_BACK_MS;
const OF = { exerciseKey: EXERCISE, patternKey: patternOf(RECORD).key };
const HIGH_BAGS = "The bags go under the low back.";

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => {
  vi.useFakeTimers({ toFake: ["Date"], now: OUT });
  world = answeringWorld();
});
afterEach(() => {
  world.close();
  vi.useRealTimers();
});

const reading = async (who: Actor = world.therapist) => grant(who, "teaching.read", null);
const points = async () => pointsToTeach(await reading(), OF, OUT);
const point = async (itemKey: string) => (await points()).find((each) => each.itemKey === itemKey);

/** A child's photo set in which the elbow has to be changed, or nothing has. */
async function judged(id: string, childId: string, sentAt: number, elbow: "fix" | "in-place" | "not-visible", cue: string | null = null): Promise<string> {
  addSet(id, { childId, sentAt });
  const verdicts = verdictsOf("in-place", { "elbow-high": elbow }).map((each) => (each.itemKey === "elbow-high" ? { ...each, cue } : each));
  return done(await send(world.therapist, id, { verdicts }, NOW, childId)).answerId;
}

describe("points to teach again", () => {
  it("counts photo sets in the order they were sent, one exercise and pattern together", async () => {
    await judged("late", "child-1", NOW - HOUR, "in-place");
    await judged("early", "child-1", NOW - 3 * HOUR, "fix");
    await judged("other", "child-2", NOW - 2 * HOUR, "in-place");
    expect(await taughtIn(await reading(), OUT)).toMatchObject([{ ...OF, children: 2, photoSets: 3 }]);
    const elbow = await point("elbow-high");
    expect(elbow).toMatchObject({ first: { count: 1, of: 2 }, isClaimed: false, photos: [{ photoSetId: "early", isFirst: true }] });
    expect((await point("head-neck"))?.first).toMatchObject({ count: 0, of: 2 });
  });

  it("leaves out what is not judged: taken back, not out yet, asked for again, of another child, not visible", async () => {
    await judged("unseen", "child-1", NOW - 5 * HOUR, "not-visible");
    expect((await point("elbow-high"))).toBeUndefined();
    addSet("again", { childId: "child-2", sentAt: NOW - HOUR });
    done(await askForNewPhoto(await grant(world.therapist, "answer.write", "child-2"), { photoSetId: "again", reason: "Too dark.", nextView: null, sideReason: "", wordsConfirmed: false }, NOW));
    await judged("wrong", "child-3", NOW - HOUR, "fix");
    database().update(photoSets).set({ voidedAt: NOW, voidReason: "wrong-child" }).where(eq(photoSets.id, "wrong")).run();
    expect(await taughtIn(await reading(), OUT)).toMatchObject([{ children: 1, photoSets: 1 }]);
    expect(await pointsToTeach(await reading(), OF, NOW)).toEqual([]);
  });

  it("takes an amended answer once, as it stands now", async () => {
    const answerId = await judged("set", "child-1", NOW - HOUR, "fix");
    const amended = answer("set", { verdicts: verdictsOf("in-place") });
    done(await amendAnswer(await grant(world.therapist, "answer.write", "child-1"), amended, { basedOn: answerId, reason: "Looked again." }, OUT));
    expect((await pointsToTeach(await reading(), OF, OUT + TAKE_BACK_MS)).find(({ itemKey }) => itemKey === "elbow-high")?.first).toMatchObject({ count: 0, of: 1 });
  });

  it("marks as fit for teaching only what two newest decisions allow today", async () => {
    await judged("set", "child-1", NOW - HOUR, "fix");
    const teach = async () => (await point("elbow-high"))?.photos.map(({ mayTeach }) => mayTeach);
    const decideTeaching = (decision: "given" | "withdrawn", sequence: number) => database().insert(consents).values({
      id: `teaching-${sequence}`, childId: "child-1", familyId: familyOfChild("child-1"), personId: "mother", purpose: "teaching", decision,
      textVersion: "1", textHash: "x", standing: "parent", decidedAt: sequence, sequence,
    }).run();
    expect(await teach()).toEqual([false]);
    decideTeaching("given", 2);
    expect(await teach()).toEqual([true]);
    decide("child-1", "family-a", "withdrawn", 3);
    expect(await teach()).toEqual([false]);
    decide("child-1", "family-a", "given", 4);
    expect(await teach()).toEqual([true]);
    decideTeaching("withdrawn", 5);
    expect(await teach()).toEqual([false]);
  });

  it("repeats only words that two children were told", async () => {
    await judged("one", "child-1", NOW - HOUR, "fix", HIGH_BAGS);
    await judged("again", "child-1", NOW - HOUR / 2, "fix", HIGH_BAGS);
    expect((await point("elbow-high"))?.cue).toBeNull();
    await judged("two", "child-2", NOW - HOUR, "fix", HIGH_BAGS);
    expect((await point("elbow-high"))?.cue).toBe(HIGH_BAGS);
  });

  it("is the staff's of this practice alone", async () => {
    await judged("set", "child-1", NOW - HOUR, "fix");
    for (const who of [world.mother, world.stranger]) expect(await refused(reading(who))).toMatch(/404/);
    const elsewhere = await reading(world.outsider);
    expect(await taughtIn(elsewhere, OUT)).toEqual([]);
    expect(await pointsToTeach(elsewhere, OF, OUT)).toEqual([]);
  });
});

describe("its pages", () => {
  const page = (query = {}) => TeachingPage({ searchParams: Promise.resolve(query) });
  const html = async (make: () => Promise<ReactNode>, who: Actor = world.therapist) => {
    session.actor = who;
    return markupOf(await make());
  };

  it("claim nothing of three photos, and say how many there are", async () => {
    expect(await html(() => page())).toContain("No photo was judged yet");
    for (const [at, childId] of ["child-1", "child-2", "child-3"].entries()) await judged(`set-${at}`, childId, NOW - HOUR, "fix");
    const shown = await html(() => page());
    expect(shown).toContain("thoracic right, lumbar left");
    expect(shown).toContain("3 of 3 first photos needed this changed. Too few: nothing is claimed under 5.");
    expect(shown).not.toMatch(/changed\. 95\s%/);
    expect(shown).toContain("for the desk only");
    expect(await html(() => PlanPage({ searchParams: Promise.resolve({ exercise: EXERCISE, pattern: OF.patternKey }) }))).toContain("No point rests on enough photos yet");
  });

  it("know no other exercise or pattern, and no family", async () => {
    await judged("set", "child-1", NOW - HOUR, "fix");
    expect(await refused(html(() => page({ exercise: EXERCISE, pattern: "lumbar-left" })))).toMatch(/404/);
    expect(await refused(html(() => page(), world.mother))).toMatch(/404/);
  });
});
