import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { notices } from "@/db/schema/machinery";
import { photoSets } from "@/db/schema/photos";
import { photoAsks } from "@/db/schema/sessions";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { deliverNotices } from "@/lib/notices/outbox";
import type { Mail } from "@/lib/notices/compose";
import { closeSession } from "@/lib/records/group-sessions";
import { choose } from "@/lib/records/notice-choices";
import { answerReadBack, openReadBacks } from "@/lib/records/read-backs";
import { ownSessions } from "@/lib/records/session-home";
import { askForPhotos, reminderState, remindOfSession, takeBackAsk } from "@/lib/records/session-photos";
import { takeIn } from "@/lib/records/session-places";
import { addSet, addSymptom, answeringWorld, decide, HOUR, NOW, send, verdictsOf } from "@/tests/records/answering-scene";
import { codeOf, done } from "@/tests/records/desk-scene";
import { askOf, plan, reading, rowsAt, writing } from "@/tests/records/session-scene";

const DAY = 24 * HOUR;
let world: ReturnType<typeof answeringWorld>;
let sessionId: string;
beforeEach(async () => {
  process.env["PUBLIC_URL"] = "https://practice.example";
  world = answeringWorld();
  sessionId = await plan(world.therapist);
});
afterEach(() => {
  delete process.env["PUBLIC_URL"];
  world.close();
});

const states = async (now: number) => Object.fromEntries((await rowsAt(world.therapist, sessionId, now)).map(({ childId, ask }) => [childId, ask?.state ?? null]));
const told = (kind: string): readonly string[] => database().select({ personId: notices.personId }).from(notices).where(eq(notices.kind, kind)).all().map((row) => row.personId).sort();
const remind = async (now: number, who: Actor = world.therapist) => codeOf(await remindOfSession(await writing(who), sessionId, now));
const press = async (now: number) => reminderState(await reading(world.therapist), await rowsAt(world.therapist, sessionId, now), now);
const photoAt = async (who: Actor, now: number, childId = "child-1") => (await ownSessions(await grant(who, "child.read", childId), now))[0]?.photo ?? null;

describe("asking for photos", () => {
  it("tells each person once, whoever of their children is asked, and asks no child twice", async () => {
    await askOf(world.therapist, sessionId, ["child-1", "child-2"]);
    expect(told("session-ask")).toEqual(["father", "mother"]);
    const placeIds = (await rowsAt(world.therapist, sessionId)).map((row) => row.placeId);
    expect(codeOf(await askForPhotos(await writing(world.colleague), { sessionId, placeIds, dueOn: "2026-03-20" }, NOW))).toBe("session-nobody-to-ask");
    expect(database().select({ dueOn: photoAsks.dueOn }).from(photoAsks).all()).toEqual([{ dueOn: "2026-03-11" }, { dueOn: "2026-03-11" }]);
    expect(told("session-ask")).toHaveLength(2);
  });

  it("asks some, refuses a day that is over, and leaves out whom a stop, consent or a missing phase holds back", async () => {
    for (const careOf of ["child-1", "child-2", "child-3"]) done(await takeIn(await writing(world.therapist), { sessionId, careOf }, NOW));
    const placeIds = (await rowsAt(world.therapist, sessionId)).map((row) => row.placeId);
    const ask = async (of: readonly string[], dueOn = "2026-03-11") => codeOf(await askForPhotos(await writing(world.therapist), { sessionId, placeIds: of, dueOn }, NOW));
    expect([await ask(placeIds, "2026-03-03"), await ask([]), await ask(["no such place"])]).toEqual(["session-due-past", "session-nobody-to-ask", "session-nobody-to-ask"]);
    decide("child-2", "family-a", "withdrawn", 2);
    addSymptom("report", "child-3", "today", NOW - HOUR);
    expect((await rowsAt(world.therapist, sessionId)).map(({ childId, heldBack }) => [childId, heldBack])).toEqual([["child-1", null], ["child-2", "no-consent"], ["child-3", "stop"]]);
    expect(await ask(placeIds, "2026-03-04")).toBe("done");
    expect(await states(NOW)).toEqual({ "child-1": "asked", "child-2": null, "child-3": null });
  });

  it("is taken back once, and then the family reads no more of it", async () => {
    await askOf(world.therapist, sessionId, ["child-1"]);
    const [row] = await rowsAt(world.therapist, sessionId);
    expect((await photoAt(world.mother, NOW))?.state).toBe("owed");
    expect([await takeBackAsk(await writing(world.outsider), row?.ask?.askId ?? "", NOW), await takeBackAsk(await writing(world.colleague), row?.ask?.askId ?? "", NOW), await takeBackAsk(await writing(world.therapist), row?.ask?.askId ?? "", NOW)].map(codeOf))
      .toEqual(["stale-version", "done", "stale-version"]);
    expect(await photoAt(world.mother, NOW)).toBeNull();
  });
});

describe("what became of a photo", () => {
  it("follows the child's own sets since it was asked for, through the answer to its read-back", async () => {
    addSet("before", { sentAt: NOW - HOUR });
    await askOf(world.therapist, sessionId, ["child-1", "child-2"]);
    expect(await states(NOW)).toEqual({ "child-1": "asked", "child-2": "asked" });
    // Wednesday 11 March is over in London at midnight, UTC then as well.
    expect([(await states(Date.UTC(2026, 2, 12) - 1))["child-2"], (await states(Date.UTC(2026, 2, 12)))["child-2"]]).toEqual(["asked", "late"]);
    addSet("set", { sentAt: NOW + HOUR });
    expect((await states(NOW + HOUR))["child-1"]).toBe("sent");
    expect(await photoAt(world.father, NOW + HOUR)).toMatchObject({ state: "sent" });
    done(await send(world.therapist, "set", { verdicts: verdictsOf("in-place", { "prop-low-back": "fix" }), nextStep: "new-photo" }, NOW + 2 * HOUR));
    expect((await states(NOW + 3 * HOUR))["child-1"]).toBe("stop-unread");
    const granted = await grant(world.mother, "read-back.answer", "child-1");
    for (const { stopId, exerciseKey, question } of (await openReadBacks(granted, NOW + 3 * HOUR)).asked) done(await answerReadBack(granted, { stopId, exerciseKey, question, choice: "low-back" }, NOW + 3 * HOUR));
    expect((await rowsAt(world.therapist, sessionId, NOW + 4 * HOUR))[0]?.ask).toMatchObject({ state: "another", stop: "settled", photoSetId: "set" });
    addSet("set-2", { sentAt: NOW + 5 * HOUR });
    done(await send(world.therapist, "set-2", {}, NOW + 6 * HOUR));
    expect((await rowsAt(world.therapist, sessionId, NOW + 7 * HOUR))[0]?.ask).toMatchObject({ state: "answered", stop: "none", photoSetId: "set-2" });
    expect(await photoAt(world.mother, NOW + 7 * HOUR)).toBeNull();
    expect((await states(NOW + 7 * HOUR))["child-2"]).toBe("asked");
  });

  it("is not sent by a set for the wrong child, nor by a sibling's", async () => {
    await askOf(world.therapist, sessionId, ["child-1", "child-2"]);
    addSet("wrong", { sentAt: NOW + HOUR });
    database().update(photoSets).set({ voidedAt: NOW + HOUR, voidedBy: "lead", voidReason: "wrong-child" }).run();
    addSet("sibling", { sentAt: NOW + HOUR, childId: "child-2" });
    expect(await states(NOW + HOUR)).toEqual({ "child-1": "asked", "child-2": "sent" });
  });
});

describe("the one-press reminder", () => {
  beforeEach(() => askOf(world.therapist, sessionId, ["child-1", "child-2", "child-3"]));

  it("mails everybody who has not sent, once a day and person, by whoever presses", async () => {
    addSet("sent", { sentAt: NOW + HOUR, childId: "child-3" });
    expect(await press(NOW + HOUR)).toBe("due");
    expect(await remind(NOW + HOUR)).toBe("done");
    expect(told("session-reminder")).toEqual(["father", "mother"]);
    expect([await press(NOW + HOUR), await remind(NOW + 13 * HOUR, world.colleague)]).toEqual(["reminded-today", "session-reminded-today"]);
    // The practice's day ends 14 hours after NOW.
    expect([await press(NOW + 14 * HOUR), await remind(NOW + 14 * HOUR)]).toEqual(["due", "done"]);
    expect(told("session-reminder")).toHaveLength(4);
  });

  it("counts the reminder that came by itself that day", async () => {
    database().transaction((tx) => {
      for (const personId of ["father", "mother"]) tx.insert(notices).values({ id: personId, kind: "photo-reminder", personId, dedupeKey: personId, createdAt: NOW, nextTryAt: NOW }).run();
    });
    expect(await remind(NOW + HOUR)).toBe("done");
    expect(told("session-reminder")).toEqual(["stranger"]);
    expect(await remind(NOW + HOUR)).toBe("session-reminded-today");
  });

  it("goes to nobody under a stop or without consent, and to nobody once all have sent or it is closed", async () => {
    addSymptom("report", "child-3", "urgent", NOW);
    decide("child-2", "family-a", "withdrawn", 2);
    addSet("sent", { sentAt: NOW + HOUR });
    expect([await press(NOW + HOUR), await remind(NOW + HOUR)]).toEqual(["nobody-owes", "session-nobody-owes"]);
    done(await closeSession(await writing(world.therapist), sessionId, NOW + HOUR));
    expect(await remind(NOW + HOUR)).toBe("session-closed");
    expect(await photoAt(world.mother, NOW + HOUR)).toBeNull();
    expect(told("session-reminder")).toEqual([]);
  });

  it("waits for quiet hours, is not sent to who switched reminders off, and names nobody", async () => {
    const ON = { news: true, reminders: true };
    done(await choose(await grant(world.father, "notices.choose", null), { isOn: { mail: { news: true, reminders: false }, push: ON }, quiet: null, timeZone: null }, NOW));
    done(await choose(await grant(world.mother, "notices.choose", null), { isOn: { mail: ON, push: ON }, quiet: { from: 8 * 60, until: 20 * 60 }, timeZone: null }, NOW));
    database().update(notices).set({ sentAt: NOW }).run();
    expect(await remind(NOW + HOUR)).toBe("done");
    const mails: Mail[] = [];
    const deliver = (now: number) => deliverNotices(database(), now, async (mail) => {
      mails.push(mail);
    });
    await deliver(NOW + HOUR);
    expect(mails.map(({ to }) => to)).toEqual(["stranger@people.example"]);
    await deliver(NOW + 10 * HOUR);
    expect(mails.map(({ to }) => to)).toEqual(["stranger@people.example", "mother@people.example"]);
    await deliver(NOW + 2 * DAY);
    expect(mails).toHaveLength(2);
    for (const { subject, text } of mails) expect(`${subject} ${text}`).not.toMatch(/child-|family-|session|photo|curve|lumbar|thoracic/i);
  });
});
