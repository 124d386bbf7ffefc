import { and, eq, isNull } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { database } from "@/db/client";
import { careLinks, children } from "@/db/schema/care";
import { auditEntries } from "@/db/schema/machinery";
import { people, practices } from "@/db/schema/practice";
import { invitations, totpSecrets } from "@/db/schema/sign-in";
import type { Actor } from "@/lib/access/actor";
import { demoPeople, demoPerson } from "@/lib/access/demo";
import { grant } from "@/lib/access/grant";
import { acceptInvitation, invitedBy } from "@/lib/access/invitation";
import { beginSecondStep, secondStepOf } from "@/lib/access/second-factor";
import { actorOf, openSession } from "@/lib/access/session-row";
import { createLeadInvitation } from "@/lib/cli/first-lead";
import type { Mail } from "@/lib/notices/compose";
import { deliverNotices } from "@/lib/notices/outbox";
import { inviteGuardian, invitationsOf, inviteStaff } from "@/lib/records/invitations";
import { carersIn, endCare } from "@/lib/records/family-carers";
import { disablePerson, enablePerson, listStaff } from "@/lib/records/people";
import { addFamilyOf, addPerson, makeWorld } from "@/tests/records/world";

const T = Date.UTC(2026, 2, 3, 16, 20);
const DAY = 86_400_000;

let world: ReturnType<typeof makeWorld>;
let lead: Actor, therapist: Actor, mother: Actor;
beforeEach(() => {
  process.env["PUBLIC_URL"] = "https://practice.example";
  vi.useFakeTimers({ toFake: ["Date"], now: T });
  world = makeWorld();
  lead = addPerson("lead", "lead");
  therapist = addPerson("therapist", "therapist");
  mother = addPerson("mother", "guardian");
  addFamilyOf("family-a", ["child-1", "child-2"], { mother: ["child-1", "child-2"] });
  addFamilyOf("family-b", ["child-3"], {});
  addPerson("stranger", "guardian");
  database().update(children).set({ bornIn: "2009-01" }).where(eq(children.id, "child-2")).run();
});
afterEach(() => {
  delete process.env["PUBLIC_URL"];
  delete process.env["DEMO"];
  vi.useRealTimers();
  world.close();
});

const FATHER = { name: "Father Canary", email: " Father@People.example ", phone: "+44 1632 960001", childIds: ["child-1"], relation: "guardian", isKnownMeant: false } as const;
const inviting = (once: string | null = null) => grant(therapist, "family.invite", "family-a", once);
const codeOf = (result: { readonly ok: boolean; readonly problem?: { readonly code: string } }): string => (result.ok ? "ok" : result.problem?.code ?? "?");
const linksOf = (personId: string) => database().select({ childId: careLinks.childId }).from(careLinks)
  .where(and(eq(careLinks.personId, personId), isNull(careLinks.endedAt))).all().map(({ childId }) => childId).sort();

async function mailed(now: number): Promise<readonly Mail[]> {
  const sent: Mail[] = [];
  await deliverNotices(database(), now, async (mail) => void sent.push(mail));
  return sent;
}
const keyIn = (mail: Mail | undefined): string => /https:\/\/practice\.example\/join\?key=([\w-]+)/.exec(mail?.text ?? "")?.[1] ?? "none";

async function invite(input: Parameters<typeof inviteGuardian>[1] = FATHER, now = T): Promise<{ readonly personId: string; readonly key: string }> {
  const invited = await inviteGuardian(await inviting(), input, now);
  if (!invited.ok) throw new Error(invited.problem.code);
  return { personId: invited.value.personId, key: keyIn((await mailed(now))[0]) };
}

describe("inviting a guardian", () => {
  it("makes the person, links the children named and no other, and mails an address that names nobody", async () => {
    const invited = await inviteGuardian(await inviting(), FATHER, T);
    const [mail] = await mailed(T);
    expect(mail?.to).toBe("father@people.example");
    // The key in the address is random text and may spell anything.
    expect(`${mail?.subject} ${mail?.text.replace(/https\S+/, "")}`).not.toMatch(/Canary|child-|Practice|photo|spine|back/i);
    const personId = invited.ok ? invited.value.personId : "";
    expect(linksOf(personId)).toEqual(["child-1"]);
    expect(database().select({ act: auditEntries.act, familyId: auditEntries.familyId }).from(auditEntries).all())
      .toContainEqual({ act: "guardian.invited", familyId: "family-a" });
  });

  it("opens once, for 24 hours, and looking uses nothing up", async () => {
    const { key, personId } = await invite();
    for (let n = 0; n < 3; n += 1) expect(invitedBy(key, T + DAY - 1000)).toMatchObject({ personId, role: "guardian", needsDetails: false });
    expect(invitedBy(key, T + DAY)).toBeNull();
    expect(codeOf(acceptInvitation(key, null, T + DAY))).toBe("link-spent");
    expect(acceptInvitation(key, null, T + DAY - 1000)).toEqual({ ok: true, value: { personId, role: "guardian" } });
    expect(codeOf(acceptInvitation(key, null, T + DAY - 1000))).toBe("link-spent");
  });

  it("withdraws the invitation before when sent again, and adds the child named then", async () => {
    const first = await invite();
    const second = await invite({ ...FATHER, childIds: ["child-2"] }, T + 1000);
    expect(second.personId).toBe(first.personId);
    expect(codeOf(acceptInvitation(first.key, null, T + 2000))).toBe("link-spent");
    expect(codeOf(acceptInvitation(second.key, null, T + 2000))).toBe("ok");
    expect(linksOf(first.personId)).toEqual(["child-1", "child-2"]);
  });

  it("shows staff the same address to hand over, and keeps it out of the database", async () => {
    const { key } = await invite();
    const [open] = await invitationsOf(await inviting(), T);
    expect(open).toMatchObject({ name: "Father Canary", address: `https://practice.example/join?key=${key}`, expiresAt: T + DAY });
    expect(JSON.stringify(database().select().from(invitations).all())).not.toContain(key);
    acceptInvitation(key, null, T);
    expect(await invitationsOf(await inviting(), T)).toEqual([]);
  });

  it("happens once however often the form is sent", async () => {
    const once = "11111111-1111-4111-8111-111111111111";
    const answers = [await inviteGuardian(await inviting(once), FATHER, T), await inviteGuardian(await inviting(once), FATHER, T)];
    expect(answers[0]).toEqual(answers[1]);
    expect(await mailed(T)).toHaveLength(1);
  });

  it.each([
    ["two addresses", { email: "a@x.example,b@x.example" }, "address-invalid"],
    ["no child", { childIds: [] }, "child-not-chosen"],
    ["another family's child", { childIds: ["child-1", "child-3"] }, "child-not-chosen"],
    ["the address of staff", { email: "lead@people.example" }, "address-taken"],
    ["a guardian's address for a young person", { name: "mother", email: "mother@people.example", childIds: ["child-2"], relation: "self" as const }, "address-taken"],
    ["a child below the age for an own sign-in", { relation: "self" as const }, "too-young"],
    ["a slip that hits another family's address", { email: "stranger@people.example" }, "address-known"],
    ["another name under an address of this family", { email: "mother@people.example" }, "address-known"],
    ["one young person for two children", { relation: "self" as const, childIds: ["child-1", "child-2"] }, "form-invalid"],
  ])("refuses %s and keeps nothing", async (_what, change, code) => {
    const before = database().select().from(people).all().length;
    expect(codeOf(await inviteGuardian(await inviting(), { ...FATHER, ...change }, T))).toBe(code);
    expect(database().select().from(people).all()).toHaveLength(before);
    expect(await mailed(T)).toEqual([]);
    expect(database().select().from(invitations).all()).toEqual([]);
  });

  it("is for staff only", async () => {
    await expect(grant(mother, "family.invite", "family-a")).rejects.toThrow(/404/);
    await expect(grant(therapist, "staff.manage", null)).rejects.toThrow(/404/);
  });
});

describe("who cares for whom", () => {
  it("staff see everybody of the family, a guardian only themself", async () => {
    const { personId } = await invite();
    const all = await carersIn(await grant(therapist, "family.read", "family-a"), T);
    expect(all.map((each) => [each.personId, each.cares.map((care) => care.childId)])).toEqual([[personId, ["child-1"]], ["mother", ["child-1", "child-2"]]]);
    const own = await carersIn(await grant(mother, "family.read", "family-a"), T);
    expect(own.map((each) => each.personId)).toEqual(["mother"]);
    expect(JSON.stringify(own)).not.toContain("father@people.example");
  });

  it("ends for one child at once, and the other stays", async () => {
    expect(codeOf(await endCare(await inviting(), { personId: "mother", careOf: "child-1", isLastMeant: true }, T))).toBe("ok");
    await expect(grant(mother, "child.read", "child-1")).rejects.toThrow(/404/);
    expect((await grant(mother, "child.read", "child-2")).childId).toBe("child-2");
    expect(codeOf(await endCare(await inviting(), { personId: "mother", careOf: "child-1", isLastMeant: true }, T))).toBe("stale-version");
  });
});

describe("staff", () => {
  it("are invited by the lead and set up their second step behind it", async () => {
    const invited = await inviteStaff(await grant(lead, "staff.manage", null), { name: "New", email: "new@people.example" }, T);
    const accepted = acceptInvitation(keyIn((await mailed(T))[0]), null, T);
    expect(accepted).toMatchObject({ ok: true, value: { role: "therapist" } });
    const personId = invited.ok ? invited.value.personId : "";
    expect(secondStepOf(beginSecondStep(personId, "invitation", T), T)?.newSecret).toMatch(/^[A-Z2-7]{32}$/);
    expect((await listStaff(await grant(lead, "staff.manage", null))).map((each) => [each.personId, each.isSetUp]))
      .toEqual(expect.arrayContaining([[personId, false]]));
    expect(codeOf(await inviteStaff(await grant(lead, "staff.manage", null), { name: "x", email: "mother@people.example" }, T))).toBe("address-taken");
  });

  it("lose sessions, half-done sign-ins and invitations with their access", async () => {
    const granted = await grant(lead, "staff.manage", null);
    await inviteStaff(granted, { name: "therapist", email: "therapist@people.example" }, T);
    const key = keyIn((await mailed(T))[0]);
    const opened = database().transaction((tx) => openSession(tx, { personId: "therapist", provedAt: T, replaces: null }, T));
    const step = beginSecondStep("therapist", "invitation", T);
    expect(codeOf(await disablePerson(granted, "therapist", T))).toBe("ok");
    expect(actorOf(opened?.token ?? "", T)).toBeNull();
    expect(secondStepOf(step, T)).toBeNull();
    expect(invitedBy(key, T)).toBeNull();
    expect(codeOf(await disablePerson(granted, "therapist", T))).toBe("stale-version");
    expect(codeOf(await enablePerson(granted, "therapist", T))).toBe("ok");
    // Given back, but nothing from before lives again.
    expect([actorOf(opened?.token ?? "", T), secondStepOf(step, T), invitedBy(key, T)]).toEqual([null, null, null]);
  });

  it("cannot take away their own access, and this form not a guardian's or another practice's", async () => {
    const granted = await grant(lead, "staff.manage", null);
    database().insert(practices).values({ id: "elsewhere", name: "Elsewhere", timeZone: "UTC", createdAt: 0 }).run();
    database().insert(people).values({ id: "outsider", practiceId: "elsewhere", role: "therapist", email: "s@else.example", name: "s", createdAt: 0 }).run();
    expect(codeOf(await disablePerson(granted, "lead", T))).toBe("own-access");
    expect(codeOf(await disablePerson(granted, "mother", T))).toBe("stale-version");
    expect(codeOf(await disablePerson(granted, "outsider", T))).toBe("stale-version");
    expect((await listStaff(granted)).map(({ personId }) => personId)).toEqual(["lead", "therapist"]);
  });
});

describe("the first lead of a new practice", () => {
  const keyOf = (address: string | null): string => /^https:\/\/practice\.example\/join\?key=([\w-]{43})$/.exec(address ?? "")?.[1] ?? "none";
  const DETAILS = { name: "Lead", email: "first@people.example", practiceName: "New practice", timeZone: "Australia/Lord_Howe" };

  beforeEach(() => {
    world.close();
    world = makeWorld();
    // A new folder of a real practice has nobody and nothing.
    for (const table of ["working_hours", "practices"]) database().$client.prepare(`delete from ${table}`).run();
  });

  it("says who they are once, and has no session until the second step is set up", async () => {
    const key = keyOf(await createLeadInvitation(database(), new Date(T)));
    expect(invitedBy(key, T)).toMatchObject({ role: "lead", needsDetails: true });
    expect(codeOf(acceptInvitation(key, null, T))).toBe("form-invalid");
    expect(codeOf(acceptInvitation(key, DETAILS, T))).toBe("ok");
    expect(codeOf(acceptInvitation(key, DETAILS, T))).toBe("link-spent");
    expect(database().select({ email: people.email, name: people.name }).from(people).all()).toEqual([{ email: "first@people.example", name: "Lead" }]);
    expect(database().select({ name: practices.name, zone: practices.timeZone }).from(practices).all()).toEqual([{ name: "New practice", zone: "Australia/Lord_Howe" }]);
  });

  it("gets a new address at each start until the second step is set up, and none after", async () => {
    const first = keyOf(await createLeadInvitation(database(), new Date(T)));
    const second = keyOf(await createLeadInvitation(database(), new Date(T + 1000)));
    expect(invitedBy(first, T + 1000)).toBeNull();
    expect(codeOf(acceptInvitation(second, DETAILS, T + 1000))).toBe("ok");
    const third = keyOf(await createLeadInvitation(database(), new Date(T + 2000)));
    expect(invitedBy(third, T + 2000)).toMatchObject({ needsDetails: false });
    const { id } = database().select({ id: people.id }).from(people).get() ?? { id: "" };
    database().insert(totpSecrets).values({ personId: id, sealedSecret: "x", createdAt: T, confirmedAt: T }).run();
    expect(await createLeadInvitation(database(), new Date(T + 3000))).toBeNull();
    expect(database().select().from(people).all()).toHaveLength(1);
  });
});

describe("the demo's people", () => {
  it("are offered and signed in only in the demo, and nobody else is", () => {
    database().update(people).set({ demoOrder: 1 }).where(eq(people.id, "mother")).run();
    expect([demoPeople(), demoPerson("mother")]).toEqual([[], null]);
    process.env["DEMO"] = "0";
    expect([demoPeople(), demoPerson("mother")]).toEqual([[], null]);
    process.env["DEMO"] = "1";
    expect(demoPeople().map(({ personId }) => personId)).toEqual(["mother"]);
    expect(demoPerson("mother")?.role).toBe("guardian");
    expect(demoPerson("lead")).toBeNull();
  });
});
