import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { seenLive, staffStops, verdicts } from "@/db/schema/answers";
import { notices } from "@/db/schema/machinery";
import { symptomClearances } from "@/db/schema/photos";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { TAKE_BACK_MS } from "@/lib/domain/answering/publication";
import { clearSymptom, openSymptomsOf } from "@/lib/records/clearances";
import { recordSeenLive, type SeenLiveInput } from "@/lib/records/seen-live";
import { standingOf } from "@/lib/records/standing";
import { liftStop, openStaffStops, placeStop } from "@/lib/records/stops";
import { addSet, addSymptom, answeringWorld, EXERCISE, HOUR, NOW, send, verdictsOf } from "@/tests/records/answering-scene";
import { codeOf, done, refused } from "@/tests/records/desk-scene";

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => {
  world = answeringWorld();
});
afterEach(() => world.close());

const state = async (now: number, who: Actor = world.mother) =>
  (await standingOf(await grant(who, "child.read", "child-1"), EXERCISE, now)).current.goAhead.state;

describe("a stop placed by staff", () => {
  const place = async (change: { readonly exerciseKey?: string | null; readonly reason?: string; readonly wordsConfirmed?: boolean; readonly sideReason?: string } = {}) =>
    placeStop(await grant(world.therapist, "stop.place", "child-1"), { exerciseKey: EXERCISE, reason: "New brace: wait for the visit.", sideReason: "", wordsConfirmed: false, ...change }, NOW);

  it("holds at once and until it is lifted with a reason", async () => {
    addSet("set");
    done(await send(world.therapist, "set", {}, NOW - TAKE_BACK_MS));
    expect(await state(NOW)).toBe("go");
    const { id } = done(await place());
    expect(await state(NOW + 1)).toBe("stop");
    const granted = await grant(world.colleague, "stop.place", "child-1");
    expect((await openStaffStops(granted)).map((stop) => stop.id)).toEqual([id]);
    expect(codeOf(await liftStop(granted, { stopId: id, reason: "" }, NOW + 2))).toBe("reason-missing");
    const other = await grant(world.colleague, "stop.place", "child-2");
    expect(codeOf(await liftStop(other, { stopId: id, reason: "Seen at the visit." }, NOW + 2))).toBe("stale-version");
    done(await liftStop(granted, { stopId: id, reason: "Seen at the visit." }, NOW + 2));
    expect(await state(NOW + 3)).toBe("go");
    expect(codeOf(await liftStop(granted, { stopId: id, reason: "Once more." }, NOW + 4))).toBe("stale-version");
    expect(database().select({ kind: notices.kind }).from(notices).all().map((row) => row.kind).sort())
      .toEqual(["answer", "answer", "stop-lifted", "stop-lifted", "stop-placed", "stop-placed"]);
  });

  it("needs a reason whose sides agree with the set-up, and a known exercise", async () => {
    expect(codeOf(await place({ reason: " " }))).toBe("reason-missing");
    expect(codeOf(await place({ exerciseKey: "other" }))).toBe("form-invalid");
    expect(codeOf(await place({ reason: "Do not do it until you lie on the right side." }))).toBe("done");
    expect(codeOf(await place({ exerciseKey: null, reason: "Lie on the right side." }))).toBe("words-side-disagree");
    expect(codeOf(await place({ exerciseKey: null, reason: "Lie on the right side.", wordsConfirmed: true, sideReason: "New set-up soon." }))).toBe("done");
    expect(database().select().from(staffStops).all()).toHaveLength(2);
  });
});

describe("seen live", () => {
  const live = (change: Partial<SeenLiveInput> = {}): SeenLiveInput => ({
    exerciseKey: EXERCISE, phase: "position", how: "visit", day: "2026-03-04", time: null, note: "", verdicts: verdictsOf("in-place"),
    sideReason: "", wordsConfirmed: false, ...change,
  });
  const record = async (change: Partial<SeenLiveInput> = {}, now = NOW) => recordSeenLive(await grant(world.therapist, "seen-live.record", "child-1"), live(change), now);

  it("has the effect of an answer", async () => {
    expect(await state(NOW)).toBe("photo-first");
    done(await record());
    expect(await state(NOW + 1)).toBe("go");
    expect(database().select({ seenAt: seenLive.seenAt }).from(seenLive).get()).toEqual({ seenAt: Date.UTC(2026, 2, 4) });
  });

  it("lifts a stop of the same day only when a time after it is known", async () => {
    addSet("set", { check: "cannot-tell" });
    done(await send(world.therapist, "set", { verdicts: verdictsOf("in-place", { "side-down": "fix" }) }));
    done(await record({}, NOW + 2 * HOUR));
    expect(await state(NOW + 3 * HOUR)).toBe("stop");
    done(await record({ time: "09:59" }, NOW + 2 * HOUR));
    expect(await state(NOW + 3 * HOUR)).toBe("stop");
    done(await record({ time: "10:01" }, NOW + 2 * HOUR));
    expect(await state(NOW + 3 * HOUR)).toBe("go");
  });

  it("is held to the checks of an answer", async () => {
    expect(codeOf(await record({ verdicts: verdictsOf("in-place").slice(1) }))).toBe("stop-item-unjudged");
    expect(codeOf(await record({ verdicts: verdictsOf("in-place").slice(0, 9) }))).toBe("verdicts-missing");
    expect(codeOf(await record({ note: "She lay down well: lie on the right side." }))).toBe("words-side-disagree");
    expect(codeOf(await record({ day: "2026-03-05" }))).toBe("dates-disagree");
    expect(codeOf(await record({ time: "11:00" }))).toBe("dates-disagree");
    expect(codeOf(await record({ day: "2026-02-30" }))).toBe("form-invalid");
    expect(codeOf(await record({ time: "24:10" }))).toBe("form-invalid");
    // The set-up of this world was confirmed on 1 January 1970.
    expect(codeOf(await record({ day: "1969-12-31" }))).toBe("dates-disagree");
    expect(database().select().from(verdicts).all()).toEqual([]);
  });

  it("starts the day in the practice's summer time", async () => {
    done(await record({ day: "2026-07-01" }, Date.UTC(2026, 6, 1, 12)));
    // London is an hour ahead of UTC from 29 March to 25 October 2026 (tz database).
    expect(database().select({ seenAt: seenLive.seenAt }).from(seenLive).get()).toEqual({ seenAt: Date.UTC(2026, 5, 30, 23) });
  });
});

describe("a symptom", () => {
  it("is lifted by a recorded clearance alone, one report at a time", async () => {
    addSet("set");
    done(await send(world.therapist, "set", {}, NOW - TAKE_BACK_MS));
    addSymptom("dizzy", "child-1", "today", NOW + 1);
    addSymptom("numb", "child-1", "urgent", NOW + 2);
    expect(await state(NOW + 3)).toBe("stop");
    addSet("again", { sentAt: NOW + 4, takenAt: NOW + 4 });
    done(await send(world.therapist, "again", {}, NOW + 5));
    expect(await state(NOW + 5 + TAKE_BACK_MS)).toBe("stop");
    const granted = await grant(world.therapist, "symptom.clear", "child-1");
    expect((await openSymptomsOf(granted)).map((report) => report.reportId)).toEqual(["numb", "dizzy"]);
    const clear = (reportId: string, spokeTo = "Her doctor", outcome = "Examined: may go on.") => clearSymptom(granted, { reportId, spokeTo, outcome }, NOW + 7);
    expect(codeOf(await clear("numb", ""))).toBe("reason-missing");
    expect(codeOf(await clear("numb", "Her doctor", " "))).toBe("reason-missing");
    done(await clear("numb"));
    expect(await state(NOW + 8)).toBe("stop");
    done(await clear("dizzy"));
    expect(await state(NOW + 8)).toBe("go");
    expect(codeOf(await clear("dizzy"))).toBe("stale-version");
    expect(database().select().from(symptomClearances).all()).toHaveLength(2);
  });

  it("is no other child's to clear, and no family's", async () => {
    addSymptom("numb", "child-1", "urgent", NOW);
    const other = await grant(world.therapist, "symptom.clear", "child-3");
    expect(codeOf(await clearSymptom(other, { reportId: "numb", spokeTo: "Her doctor", outcome: "Fine." }, NOW))).toBe("stale-version");
    for (const ability of ["symptom.clear", "stop.place", "seen-live.record"] as const) {
      for (const who of [world.mother, world.stranger, world.outsider]) expect(await refused(grant(who, ability, "child-1"))).toContain("404");
    }
  });
});
