import { readFileSync } from "node:fs";
import { and, eq, isNull } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { database } from "@/db/client";
import { careLinks, children } from "@/db/schema/care";
import { auditEntries, notices } from "@/db/schema/machinery";
import { mediaFiles, photoSets, photos } from "@/db/schema/photos";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { invitedBy } from "@/lib/access/invitation";
import { actorOf, openSession } from "@/lib/access/session-row";
import { askForCode } from "@/lib/access/sign-in-code";
import { offKey } from "@/lib/notices/off-key";
import { takeIn } from "@/lib/photos/intake";
import { entryOf } from "@/lib/records/answers-read";
import { recordAgreement, decideAgreement } from "@/lib/records/care-agreements";
import { tellCarers } from "@/lib/records/carers";
import { childrenOf, closedChildrenOf } from "@/lib/records/families";
import { carersIn, endCare, fellowCarers } from "@/lib/records/family-carers";
import { inviteGuardian, invitationsOf } from "@/lib/records/invitations";
import { switchOffByKey } from "@/lib/records/notice-choices";
import { addPhoto } from "@/lib/records/photo-sets";
import { placeStop } from "@/lib/records/stops";
import { answerReadBack, openReadBacks } from "@/lib/records/read-backs";
import { addPicture, addSet, answeringWorld, NOW, send } from "@/tests/records/answering-scene";
import { codeOf, done, refused } from "@/tests/records/desk-scene";

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => {
  process.env["PUBLIC_URL"] = "https://practice.example";
  vi.useFakeTimers({ toFake: ["Date"], now: NOW });
  world = answeringWorld();
});
afterEach(() => {
  delete process.env["PUBLIC_URL"];
  vi.useRealTimers();
  world.close();
});

const staff = (familyId = "family-a") => grant(world.lead, "family.invite", familyId);
const end = async (personId: string, careOf = "child-1", isLastMeant = false, familyId = "family-a") =>
  endCare(await staff(familyId), { personId, careOf, isLastMeant }, NOW);
const signIn = (personId: string): string => database().transaction((tx) => openSession(tx, { personId, provedAt: null, replaces: null }, NOW))?.token ?? "none";
const waitingFor = (personId: string) => database().select({ kind: notices.kind }).from(notices)
  .where(and(eq(notices.personId, personId), isNull(notices.sentAt), isNull(notices.gaveUpAt))).all().map(({ kind }) => kind);
const invite = async (input: Partial<Parameters<typeof inviteGuardian>[1]>, familyId = "family-a") =>
  inviteGuardian(await staff(familyId), { name: "father", email: "father@people.example", phone: "", childIds: ["child-1"], relation: "guardian", isKnownMeant: false, ...input }, NOW);
const bornIn = (childId: string, month: string) => database().update(children).set({ bornIn: month }).where(eq(children.id, childId)).run();

describe("removing one of two separated guardians", () => {
  it("ends sign-in, mail, codes, invitations and everything reached by the link, at once and for them alone", async () => {
    const [his, hers] = [signIn("father"), signIn("mother")];
    const key = done(await invite({ isKnownMeant: true })).personId === "father" ? (await invitationsOf(await staff(), NOW))[0]?.address.split("key=")[1] ?? "" : "";
    expect(invitedBy(key, NOW)?.personId).toBe("father");
    database().transaction((tx) => tellCarers(tx, { childId: "child-1", familyId: "family-a" }, "answer", "a", NOW));
    askForCode("father@people.example", "network", NOW);
    expect(waitingFor("father").sort()).toEqual(["answer", "invitation", "sign-in-code"]);
    const before = database().select().from(auditEntries).all().length;

    expect(codeOf(await end("father"))).toBe("done");

    expect([actorOf(his, NOW), invitedBy(key, NOW), waitingFor("father")]).toEqual([null, null, []]);
    expect(actorOf(hers, NOW)?.personId).toBe("mother");
    expect(waitingFor("mother")).toEqual(["answer"]);
    for (const ability of ["child.read", "photo.view", "photo-set.send", "symptom.report", "read-back.answer", "consent.give"] as const) {
      expect(await refused(grant(world.father, ability, "child-1")), ability).toMatch(/404/);
      expect((await grant(world.mother, ability, "child-1")).childId).toBe("child-1");
    }
    // No code is mailed, no session opens, no further news is written, and the key of an old mail does nothing.
    askForCode("father@people.example", "network", NOW + 1);
    database().transaction((tx) => tellCarers(tx, { childId: "child-1", familyId: "family-a" }, "answer", "b", NOW));
    expect([waitingFor("father"), signIn("father"), await switchOffByKey(offKey("father"), NOW)]).toEqual([[], "none", false]);
    expect(database().select({ act: auditEntries.act, actor: auditEntries.actorId, object: auditEntries.objectId }).from(auditEntries).where(eq(auditEntries.outcome, "done")).all().slice(before))
      .toEqual([{ act: "care.ended", actor: "lead", object: "father" }]);
  });

  it("takes away what they had not sent, and keeps what they had", async () => {
    const sent = addSet("sent");
    const unsent = addSet("unsent");
    database().update(photoSets).set({ sentBy: "father" }).run();
    database().update(photoSets).set({ sentAt: null }).where(eq(photoSets.id, unsent)).run();
    done(await end("father"));
    const kept = (setId: string) => database().select({ id: photos.id }).from(photos).where(and(eq(photos.photoSetId, setId), isNull(photos.removedAt))).all().length;
    expect([kept(sent), kept(unsent)]).toEqual([3, 0]);
    expect((await entryOf(await grant(world.mother, "child.read", "child-1"), sent, NOW))?.sentBy).toBe("father");
  });

  it("refuses a photo that was on its way, and leaves neither row nor file of it", async () => {
    const taken = done(await takeIn(readFileSync("node_modules/jpeg-exif/test/IMG_0001.JPG")));
    const granted = await grant(world.father, "photo-set.send", "child-1");
    done(await end("father"));
    const place = { setId: "11111111-1111-4111-8111-111111111111", exerciseKey: "side-lying", ordinal: 1, view: "behind" } as const;
    expect(codeOf(await addPhoto(granted, place, taken, null, NOW))).toBe("care-ended");
    expect([database().select().from(photoSets).all(), database().select().from(photos).all(), database().select().from(mediaFiles).all()]).toEqual([[], [], []]);
  });

  it("leaves their other child and other family alone, but for signing in anew", async () => {
    done(await invite({ childIds: ["child-3"], isKnownMeant: true }, "family-b"));
    const token = signIn("father");
    done(await end("father"));
    expect(actorOf(token, NOW)).toBeNull();
    expect(actorOf(signIn("father"), NOW)?.personId).toBe("father");
    expect((await childrenOf(world.father)).map(({ childId }) => childId)).toEqual(["child-3"]);
    expect(await refused(grant(world.father, "family.read", "family-a"))).toMatch(/404/);
    // Each family's page lists only what is that family's.
    expect((await carersIn(await grant(world.lead, "family.read", "family-b"), NOW)).map((each) => [each.personId, each.cares.map((care) => care.childId)]))
      .toEqual([["father", ["child-3"]], ["stranger", ["child-3"]]]);
    expect((await carersIn(await grant(world.lead, "family.read", "family-a"), NOW)).map((each) => each.personId)).toEqual(["mother"]);
  });

  it("is told twice once, and is undone by an invitation, not by an old session", async () => {
    const token = signIn("father");
    done(await end("father"));
    expect(codeOf(await end("father"))).toBe("stale-version");
    expect(codeOf(await invite({}))).toBe("address-known");
    done(await invite({ isKnownMeant: true }));
    expect((await grant(world.father, "child.read", "child-1")).childId).toBe("child-1");
    expect(actorOf(token, NOW)).toBeNull();
    expect(database().select().from(careLinks).where(eq(careLinks.personId, "father")).all()).toHaveLength(2);
  });

  it("is refused for the last who decides, unless it is meant; a young person who practises does not count", async () => {
    expect((await carersIn(await grant(world.lead, "family.read", "family-a"), NOW)).map((each) => each.cares.map((care) => care.isLast))).toEqual([[false], [false, true]]);
    bornIn("child-2", "2010-01");
    done(await invite({ name: "Young", email: "young@people.example", childIds: ["child-2"], relation: "self" }));
    expect(codeOf(await end("mother", "child-2"))).toBe("last-carer");
    expect((await grant(world.mother, "child.read", "child-2")).childId).toBe("child-2");
    expect(codeOf(await end("mother", "child-2", true))).toBe("done");
    // Two who each end the other's: the second is stopped.
    expect(codeOf(await end("mother"))).toBe("done");
    expect(codeOf(await end("father"))).toBe("last-carer");
  });

  it("is for staff of the practice alone", async () => {
    for (const who of [world.mother, world.father, world.stranger, world.outsider] as readonly Actor[]) {
      expect(await refused(grant(who, "family.invite", "family-a"))).toMatch(/404/);
    }
    expect(codeOf(await end("stranger", "child-3"))).toBe("stale-version");
  });
});

describe("two guardians of one child", () => {
  it("see what the other wrote about the child by name, and never how to reach the other", async () => {
    addSet("set-1");
    database().update(photoSets).set({ note: "She says it pulls.", sentBy: "father" }).run();
    const entry = await entryOf(await grant(world.mother, "child.read", "child-1"), "set-1", NOW);
    expect(entry).toMatchObject({ note: "She says it pulls.", sentBy: "father" });
    const own = await carersIn(await grant(world.mother, "family.read", "family-a"), NOW);
    expect(JSON.stringify([entry, own])).not.toContain("father@people.example");
    expect(await fellowCarers(await grant(world.mother, "read-back.answer", "child-1"), NOW)).toEqual([]);
  });

  it("read a stop back each for themself", async () => {
    const place = await grant(world.therapist, "stop.place", "child-1");
    done(await placeStop(place, { exerciseKey: null, reason: "Wait.", sideReason: "", wordsConfirmed: false }, NOW));
    bornIn("child-1", "2010-01");
    const { personId } = done(await invite({ name: "Young", email: "young@people.example", relation: "self" }));
    const young: Actor = { ...world.mother, personId, role: "young-person" };
    const open = async (who: Actor) => (await openReadBacks(await grant(who, "read-back.answer", "child-1"), NOW)).asked.length;
    const [asked] = (await openReadBacks(await grant(young, "read-back.answer", "child-1"), NOW)).asked;
    done(await answerReadBack(await grant(young, "read-back.answer", "child-1"), { stopId: asked?.stopId ?? "", exerciseKey: "side-lying", question: "practise", choice: "no" }, NOW));
    expect([await open(young), await open(world.mother), await open(world.father)]).toEqual([0, 1, 1]);
  });
});

describe("a young person with a sign-in of their own", () => {
  let young: Actor;
  beforeEach(async () => {
    bornIn("child-1", "2010-01");
    const { personId } = done(await invite({ name: "Young", email: "young@people.example", relation: "self" }));
    young = { ...world.mother, personId, role: "young-person" };
  });

  it("reaches themself and no sibling, decides nothing, and sees by name who else looks", async () => {
    expect((await childrenOf(young)).map(({ childId, reach }) => [childId, reach])).toEqual([["child-1", "practise"]]);
    for (const ability of ["photo-set.send", "symptom.report", "question.ask", "practice-day.mark", "writes-with.set", "photo.view"] as const) {
      expect((await grant(young, ability, "child-1")).childId, ability).toBe("child-1");
    }
    for (const ability of ["consent.give", "care.agree"] as const) expect(await refused(grant(young, ability, "child-1"))).toMatch(/404/);
    expect(await refused(grant(young, "child.read", "child-2"))).toMatch(/404/);
    expect((await fellowCarers(await grant(young, "read-back.answer", "child-1"), NOW)).map(({ name }) => name).sort()).toEqual(["father", "mother"]);
  });

  it("is one for a child and one child, whatever form is sent", async () => {
    expect(codeOf(await invite({ name: "Young too", email: "second@people.example", relation: "self" }))).toBe("self-already");
    bornIn("child-2", "2010-01");
    expect(codeOf(await invite({ name: "Young", email: "young@people.example", childIds: ["child-2"], relation: "self" }))).toBe("self-already");
    expect(codeOf(await invite({ name: "Young", email: "young@people.example", relation: "self" }))).toBe("done");
  });

  it("loses it while the practice's age is above theirs; the guardians keep theirs", async () => {
    database().$client.prepare("update practices set own_sign_in_age = 18").run();
    expect(await refused(grant(young, "child.read", "child-1"))).toMatch(/404/);
    expect(await closedChildrenOf(young)).toEqual(["child-1"]);
    expect((await grant(world.mother, "consent.give", "child-1")).childId).toBe("child-1");
  });
});

describe("an adult client", () => {
  let client: Actor;
  beforeEach(async () => {
    bornIn("child-1", "1990-01");
    const { personId } = done(await invite({ name: "Client", email: "client@people.example", relation: "self" }));
    client = { ...world.mother, personId, role: "young-person" };
  });
  const agree = async (guardianId: string, decision: "agreed" | "ended") => decideAgreement(await grant(client, "care.agree", "child-1"), { guardianId, decision }, NOW);

  it("lets a guardian see, not decide, and takes it back at once", async () => {
    expect(await refused(grant(world.mother, "child.read", "child-1"))).toMatch(/404/);
    expect(await closedChildrenOf(world.mother)).toEqual(["child-1"]);
    done(await agree("mother", "agreed"));
    expect((await grant(world.mother, "photo-set.send", "child-1")).childId).toBe("child-1");
    expect(await refused(grant(world.mother, "consent.give", "child-1"))).toMatch(/404/);
    expect(await refused(grant(world.father, "child.read", "child-1"))).toMatch(/404/);
    const token = signIn("mother");
    done(await agree("mother", "ended"));
    expect(await refused(grant(world.mother, "child.read", "child-1"))).toMatch(/404/);
    expect(actorOf(token, NOW)).toBeNull();
    // Her other child is hers as before.
    expect((await grant(world.mother, "consent.give", "child-2")).childId).toBe("child-2");
  });

  it("cannot change what the law decides, and staff write down how they know", async () => {
    const record = async (note: string, careOf = "child-1") => recordAgreement(await staff(), { guardianId: "father", careOf, decision: "represents", note }, NOW);
    expect(codeOf(await record("  "))).toBe("reason-missing");
    expect(codeOf(await record("Saw the court's paper", "child-2"))).toBe("stale-version");
    done(await record("Saw the court's paper"));
    expect((await grant(world.father, "consent.give", "child-1")).childId).toBe("child-1");
    expect(codeOf(await agree("father", "ended"))).toBe("form-invalid");
  });

  it("keeps what an agreement said to the link it was said of", async () => {
    done(await agree("father", "agreed"));
    done(await endCare(await staff(), { personId: "father", careOf: "child-1", isLastMeant: false }, NOW + 1));
    done(await inviteGuardian(await staff(), { name: "father", email: "father@people.example", phone: "", childIds: ["child-1"], relation: "guardian", isKnownMeant: true }, NOW + 2));
    expect(await refused(grant(world.father, "child.read", "child-1"))).toMatch(/404/);
  });

  it("is not agreed to by anybody for a child", async () => {
    expect(codeOf(await recordAgreement(await staff(), { guardianId: "mother", careOf: "child-2", decision: "agreed", note: "Said so" }, NOW))).toBe("form-invalid");
  });
});

it("an answer to a set of a removed guardian reaches the other alone", async () => {
  addSet("set-1");
  await addPicture("child-1", "set-1-photo-1", new Uint8Array([1]));
  database().update(photoSets).set({ sentBy: "father" }).run();
  done(await end("father"));
  done(await send(world.therapist, "set-1"));
  expect([waitingFor("father"), waitingFor("mother")]).toEqual([[], ["answer"]]);
});
