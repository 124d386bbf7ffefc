import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { careLinks, curveRecords, setups } from "@/db/schema/care";
import { auditEntries, notices } from "@/db/schema/machinery";
import { groupSessions, sessionInvitations, sessionPlaces } from "@/db/schema/sessions";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { endCare } from "@/lib/records/family-carers";
import { changeSession, closeSession, createSession, reopenSession, requestsWaiting, sessionsOf, teachable } from "@/lib/records/group-sessions";
import { ownSessions } from "@/lib/records/session-home";
import { invitedTo, makeSessionInvitation, revokeSessionInvitation, sessionInvitationOf } from "@/lib/records/session-invitations";
import { mayBeTakenIn } from "@/lib/records/session-fit";
import { askToCome, decidePlace, giveUpPlace, joinChoice, takeIn, takeOut } from "@/lib/records/session-places";
import { answeringWorld, EXERCISE, NOW } from "@/tests/records/answering-scene";
import { codeOf, done } from "@/tests/records/desk-scene";
import { inviteTo, PATTERN, plan, reading, rowsAt, sessionAt, STARTS, WHEN, writing } from "@/tests/records/session-scene";

const DAY = 86_400_000;
let world: ReturnType<typeof answeringWorld>;
beforeEach(() => {
  world = answeringWorld();
});
afterEach(() => world.close());

const told = (kind: string): readonly string[] => database().select({ personId: notices.personId }).from(notices).where(eq(notices.kind, kind)).all().map((row) => row.personId).sort();
const joining = (who: Actor, childId = "child-1", once: string | null = null) => grant(who, "session.join", childId, once);
const ask = async (who: Actor, key: string, childId = "child-1", now = NOW) => askToCome(await joining(who, childId), key, now);
const home = async (who: Actor, now = NOW, childId = "child-1") => ownSessions(await grant(who, "child.read", childId), now);
const places = () => database().select({ childId: sessionPlaces.childId, decision: sessionPlaces.decision, endedAt: sessionPlaces.endedAt }).from(sessionPlaces).all();
const change = (childId: string, patternKey: string) => database().update(curveRecords).set({ patternKey }).where(eq(curveRecords.childId, childId)).run();

describe("planning a session", () => {
  it("offers each pattern the exercise's rules cover, with its mirror image, and no other", async () => {
    expect((await teachable(await reading(world.therapist))).map(({ pattern }) => pattern.key).sort())
      .toEqual(["lumbar-left", "lumbar-right", "thoracic-left+lumbar-right", "thoracic-right+lumbar-left"]);
    const refused = await createSession(await writing(world.therapist), { exerciseKey: EXERCISE, patternKey: "thoracic-right", ...WHEN }, NOW);
    expect(codeOf(refused)).toBe("form-invalid");
    expect(database().select().from(groupSessions).all()).toEqual([]);
  });

  it("keeps its time in the practice's zone, an hour that was skipped read after the jump", async () => {
    expect((await sessionAt(world.therapist, await plan(world.therapist))).startsAt).toBe(STARTS);
    // London's clocks go from 01:00 to 02:00 on 29 March 2026.
    expect((await sessionAt(world.therapist, await plan(world.therapist, { day: "2026-03-29", time: "01:30" }))).startsAt).toBe(Date.UTC(2026, 2, 29, 1, 30));
  });

  it("refuses a slip of the year, and a side in the words that is not this group's", async () => {
    const make = async (input: Partial<typeof WHEN>) => codeOf(await createSession(await writing(world.therapist), { exerciseKey: EXERCISE, patternKey: PATTERN, ...WHEN, ...input }, NOW));
    expect([await make({ day: "2028-03-06" }), await make({ day: "2025-03-06" })]).toEqual(["session-date", "session-date"]);
    expect([await make({ howToJoin: "Lie on the right side." }), await make({ howToJoin: "Lie on the left side." })]).toEqual(["words-side-disagree", "done"]);
  });

  it("is changed by one of two at once, and tells whoever comes", async () => {
    const sessionId = await plan(world.therapist);
    done(await takeIn(await writing(world.therapist), { sessionId, careOf: "child-3" }, NOW));
    const input = { sessionId, version: 1, ...WHEN, time: "18:00" };
    done(await changeSession(await writing(world.therapist), input, NOW));
    expect(codeOf(await changeSession(await writing(world.colleague), { ...input, time: "19:00" }, NOW))).toBe("stale-version");
    expect((await sessionAt(world.therapist, sessionId)).startsAt).toBe(STARTS + 1_800_000);
    expect(told("session-changed")).toEqual(["stranger"]);
  });

  it("is closed once, called off before it begins, and opened again", async () => {
    const sessionId = await plan(world.therapist);
    const key = await inviteTo(world.therapist, sessionId);
    done(await ask(world.mother, key));
    done(await closeSession(await writing(world.therapist), sessionId, NOW));
    expect(codeOf(await closeSession(await writing(world.colleague), sessionId, NOW))).toBe("stale-version");
    expect(told("session-changed")).toEqual(["father", "mother"]);
    expect((await home(world.mother)).map((each) => each.stage)).toEqual(["cancelled"]);
    expect(codeOf(await ask(world.stranger, key, "child-3"))).toBe("session-link");
    expect(codeOf(await makeSessionInvitation(await writing(world.therapist), { sessionId, days: 7 }, NOW))).toBe("session-closed");
    done(await reopenSession(await writing(world.colleague), sessionId, NOW));
    expect([await requestsWaiting(await reading(world.lead)), await requestsWaiting(await reading(world.outsider))]).toEqual([1, 0]);
    expect((await sessionsOf(await reading(world.lead), NOW)).map(({ stage, waiting, takenIn }) => [stage, waiting, takenIn])).toEqual([["upcoming", 1, 0]]);
  });
});

describe("a session invitation", () => {
  it("opens until it runs out, is withdrawn or replaced, and then says the same as one that never was", async () => {
    const sessionId = await plan(world.therapist);
    const first = await inviteTo(world.therapist, sessionId, NOW, 1);
    expect(await invitedTo(world.mother, first, NOW + DAY - 1)).toEqual({ startsAt: STARTS });
    expect([await invitedTo(world.mother, first, NOW + DAY), await invitedTo(world.mother, "unknown", NOW), await invitedTo(world.mother, first.slice(0, -1), NOW)]).toEqual([null, null, null]);
    const second = await inviteTo(world.therapist, sessionId, NOW + 1);
    expect([await invitedTo(world.mother, first, NOW + 1), await invitedTo(world.mother, second, NOW + 1)]).toEqual([null, { startsAt: STARTS }]);
    const open = await sessionInvitationOf(await reading(world.therapist), sessionId, NOW + 1);
    done(await revokeSessionInvitation(await writing(world.colleague), { sessionId, invitationId: open?.invitationId ?? "" }, NOW + 2));
    expect(codeOf(await revokeSessionInvitation(await writing(world.therapist), { sessionId, invitationId: open?.invitationId ?? "" }, NOW + 2))).toBe("stale-version");
    expect(await invitedTo(world.mother, second, NOW + 2)).toBeNull();
    expect(codeOf(await ask(world.mother, second, "child-1", NOW + 2))).toBe("session-link");
    expect(await joinChoice(await joining(world.mother), second, NOW + 2)).toBeNull();
  });

  it("stands in the database as a hash alone, and opens nothing for another practice's people", async () => {
    const key = await inviteTo(world.therapist, await plan(world.therapist));
    expect(key).toMatch(/^[\w-]{43}$/);
    expect(JSON.stringify(database().select().from(sessionInvitations).all())).not.toContain(key);
    expect(await invitedTo({ ...world.mother, practiceId: "elsewhere" }, key, NOW)).toBeNull();
  });
});

describe("asking to come", () => {
  it("is asked once by both guardians, told to the staff, and decided once by two therapists", async () => {
    const sessionId = await plan(world.therapist);
    const key = await inviteTo(world.therapist, sessionId);
    expect(await joinChoice(await joining(world.mother), key, NOW)).toEqual({ fit: "fits", exercise: { title: "Side-lying over a small prop, top arm up" }, place: "none" });
    done(await ask(world.mother, key));
    done(await ask(world.father, key));
    expect(places()).toEqual([{ childId: "child-1", decision: null, endedAt: null }]);
    expect(told("session-request")).toEqual(["colleague", "lead", "therapist"]);
    const [row] = await rowsAt(world.therapist, sessionId);
    const decide = async (who: Actor, decision: "taken-in" | "declined", seen: "taken-in" | "declined" | null) => codeOf(await decidePlace(await writing(who), { placeId: row?.placeId ?? "", decision, seen }, NOW));
    expect([await decide(world.therapist, "taken-in", null), await decide(world.colleague, "declined", null), await decide(world.colleague, "taken-in", null)]).toEqual(["done", "stale-version", "stale-version"]);
    expect(told("session-place")).toEqual(["father", "mother"]);
    expect(await joinChoice(await joining(world.father), key, NOW)).toMatchObject({ place: "taken-in" });
    const audited = database().select({ act: auditEntries.act, actorId: auditEntries.actorId, familyId: auditEntries.familyId }).from(auditEntries).all().filter(({ act }) => !act.endsWith(".opened"));
    expect(audited).toEqual([
      { act: "session.created", actorId: "therapist", familyId: null }, { act: "session-invitation.made", actorId: "therapist", familyId: null },
      { act: "session.asked-to-come", actorId: "mother", familyId: "family-a" }, { act: "session.asked-to-come", actorId: "father", familyId: "family-a" },
      { act: "session.child-taken-in", actorId: "therapist", familyId: "family-a" },
    ]);
  });

  it("happens once under one key, however often it is sent", async () => {
    const sessionId = await plan(world.therapist);
    const once = "11111111-1111-4111-8111-111111111111";
    const twice = [await takeIn(await writing(world.therapist, once), { sessionId, careOf: "child-1" }, NOW), await takeIn(await writing(world.therapist, once), { sessionId, careOf: "child-1" }, NOW)];
    expect(twice.map(codeOf)).toEqual(["done", "done"]);
    expect(places()).toHaveLength(1);
    expect(codeOf(await takeIn(await writing(world.therapist), { sessionId, careOf: "child-1" }, NOW))).toBe("stale-version");
  });

  it("tells a child of another pattern, without a record or a set-up so, and never names the exercise to it", async () => {
    const sessionId = await plan(world.therapist);
    const key = await inviteTo(world.therapist, sessionId);
    change("child-1", "thoracic-left+lumbar-right");
    expect(await joinChoice(await joining(world.mother), key, NOW)).toEqual({ fit: "other-pattern", place: "none" });
    database().update(setups).set({ kind: "individual" }).where(eq(setups.childId, "child-2")).run();
    expect(await joinChoice(await joining(world.mother, "child-2"), key, NOW)).toEqual({ fit: "own-setup", place: "none" });
    database().delete(setups).where(eq(setups.childId, "child-3")).run();
    expect(await joinChoice(await joining(world.stranger, "child-3"), key, NOW)).toEqual({ fit: "no-setup", place: "none" });
    expect([await ask(world.mother, key), await ask(world.mother, key, "child-2"), await ask(world.stranger, key, "child-3")].map(codeOf)).toEqual(["session-misfit", "session-misfit", "session-misfit"]);
    expect(codeOf(await takeIn(await writing(world.therapist), { sessionId, careOf: "child-1" }, NOW))).toBe("session-misfit");
    expect(places()).toEqual([]);
    expect(await mayBeTakenIn(await grant(world.therapist, "families.read", null), await sessionAt(world.therapist, sessionId), [], NOW)).toEqual({ fitting: [], hasMore: false });
  });

  it("is refused at the decision when the record changed since it was asked, and the family is told after one", async () => {
    const sessionId = await plan(world.therapist);
    done(await ask(world.mother, await inviteTo(world.therapist, sessionId)));
    done(await takeIn(await writing(world.therapist), { sessionId, careOf: "child-3" }, NOW));
    const first = (await rowsAt(world.therapist, sessionId)).find((row) => row.childId === "child-1");
    change("child-1", "lumbar-left");
    change("child-3", "lumbar-left");
    expect(codeOf(await decidePlace(await writing(world.therapist), { placeId: first?.placeId ?? "", decision: "taken-in", seen: null }, NOW))).toBe("session-misfit");
    expect(await home(world.stranger, NOW, "child-3")).toMatchObject([{ decision: "taken-in", isMisfit: true, exercise: null, howToJoin: "", photo: null }]);
  });

  it("can be taken back by the family and by staff, and asked for again", async () => {
    const sessionId = await plan(world.therapist);
    const key = await inviteTo(world.therapist, sessionId);
    done(await ask(world.mother, key));
    const [row] = await rowsAt(world.therapist, sessionId);
    const placeId = row?.placeId ?? "";
    expect(codeOf(await giveUpPlace(await joining(world.stranger, "child-3"), placeId, NOW))).toBe("stale-version");
    expect(codeOf(await giveUpPlace(await joining(world.father), placeId, NOW))).toBe("done");
    expect(codeOf(await decidePlace(await writing(world.therapist), { placeId, decision: "taken-in", seen: null }, NOW))).toBe("stale-version");
    expect(await home(world.mother)).toEqual([]);
    done(await ask(world.mother, key));
    const [again] = await rowsAt(world.therapist, sessionId);
    done(await takeOut(await writing(world.colleague), again?.placeId ?? "", NOW));
    expect(codeOf(await takeOut(await writing(world.therapist), again?.placeId ?? "", NOW))).toBe("stale-version");
    expect(await rowsAt(world.therapist, sessionId)).toEqual([]);
  });

  it("ends with the care of whoever asked, unless it was decided", async () => {
    const sessionId = await plan(world.therapist);
    done(await ask(world.father, await inviteTo(world.therapist, sessionId)));
    done(await endCare(await grant(world.therapist, "family.invite", "family-a"), { personId: "father", careOf: "child-1", isLastMeant: false }, NOW));
    expect(await rowsAt(world.therapist, sessionId)).toEqual([]);
    await expect(joining(world.father)).rejects.toThrow(/404/);
  });
});

describe("who reads and writes sessions", () => {
  it("is the practice's staff, and a carer for a child they reach", async () => {
    const sessionId = await plan(world.therapist);
    const key = await inviteTo(world.therapist, sessionId);
    for (const ability of ["sessions.read", "sessions.write"] as const) await expect(grant(world.mother, ability, null)).rejects.toThrow(/404/);
    await expect(joining(world.mother, "child-3")).rejects.toThrow(/404/);
    await expect(joining(world.therapist)).rejects.toThrow(/404/);
    done(await ask(world.mother, key));
    const [row] = await rowsAt(world.therapist, sessionId);
    const outside = await writing(world.outsider);
    expect([
      await closeSession(outside, sessionId, NOW), await takeIn(outside, { sessionId, careOf: "child-3" }, NOW), await takeOut(outside, row?.placeId ?? "", NOW),
      await decidePlace(outside, { placeId: row?.placeId ?? "", decision: "taken-in", seen: null }, NOW), await makeSessionInvitation(outside, { sessionId, days: 7 }, NOW),
    ].map(codeOf)).toEqual(Array(5).fill("stale-version"));
    expect(await sessionsOf(await reading(world.outsider), NOW)).toEqual([]);
    expect(await sessionInvitationOf(await reading(world.outsider), sessionId, NOW)).toBeNull();
  });

  it("shows a family its own child's place and nothing of another's", async () => {
    const sessionId = await plan(world.therapist);
    for (const careOf of ["child-1", "child-3"]) done(await takeIn(await writing(world.therapist), { sessionId, careOf }, NOW));
    const seen = await home(world.mother);
    expect(seen).toMatchObject([{ startsAt: STARTS, stage: "upcoming", decision: "taken-in", howToJoin: WHEN.howToJoin, photo: null, isOver: false }]);
    expect(JSON.stringify(seen)).not.toMatch(/child-3|family-b|stranger/);
    database().update(careLinks).set({ endedAt: NOW }).where(eq(careLinks.personId, "mother")).run();
    await expect(home(world.mother)).rejects.toThrow(/404/);
  });
});
