import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { auditEntries, notices } from "@/db/schema/machinery";
import { people } from "@/db/schema/practice";
import { pushPhones } from "@/db/schema/reach";
import { passkeys, recoveryCodes, sessions, totpFailures, totpSecrets } from "@/db/schema/sign-in";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { acceptInvitation, invitedBy } from "@/lib/access/invitation";
import { beginSecondStep, proveByRecoveryCode, proveByTotp, secondStepOf } from "@/lib/access/second-factor";
import { actorOf, openSession } from "@/lib/access/session-row";
import { resetLostLead } from "@/lib/cli/lost-lead";
import type { SignInDevice } from "@/lib/domain/sign-in/device";
import { listStaff, resetSecondFactor } from "@/lib/records/people";
import { endOtherSignIns, endSignIn, signInsOf } from "@/lib/records/sign-ins";
import { codeAt, codeOf } from "@/tests/records/factors";
import { addPerson, makeWorld } from "@/tests/records/world";

const T = Date.UTC(2026, 2, 3, 16, 20);
const [SECOND, MINUTE, HOUR, DAY] = [1000, 60_000, 3_600_000, 86_400_000];

let world: ReturnType<typeof makeWorld>;
beforeEach(() => {
  process.env["PUBLIC_URL"] = "https://practice.example";
  world = makeWorld();
  addPerson("lead", "lead");
  addPerson("therapist", "therapist");
  addPerson("mother", "guardian");
  addPerson("father", "guardian");
});
afterEach(() => {
  delete process.env["PUBLIC_URL"];
  world.close();
});

type Browser = { readonly actor: Actor; readonly at: (now: number) => Actor | null };

function signIn(personId: string, now = T, device: SignInDevice | null = null): Browser {
  const provedAt = personId === "lead" || personId === "therapist" ? now : null;
  const opened = database().transaction((tx) => openSession(tx, { personId, provedAt, replaces: null, device }, now));
  const at = (later: number): Actor | null => actorOf(opened?.token ?? "", later);
  const actor = at(now);
  if (!actor) throw new Error("nobody is signed in");
  return { actor, at };
}

const listed = async ({ actor }: Browser, now = T) => signInsOf(await grant(actor, "sign-ins.read", null), now);

describe("where a person is signed in", () => {
  it("names this browser first and keeps of any browser no more than its kind and its system", async () => {
    const phone = signIn("mother", T - DAY, { browser: "chrome", system: "android" });
    const old = signIn("mother", T - 2 * DAY);
    const laptop = signIn("mother", T, { browser: "firefox", system: "linux" });
    expect((await listed(phone)).map(({ isThis, browser, system, createdAt }) => [isThis, browser, system, createdAt])).toEqual([
      [true, "chrome", "android", T - DAY], [false, "firefox", "linux", T], [false, "other", "other", T - 2 * DAY],
    ]);
    expect((await listed(laptop)).map(({ isThis }) => isThis)).toEqual([true, false, false]);
    expect(Object.keys((await listed(old))[0] ?? {}).toSorted()).toEqual(["browser", "createdAt", "isThis", "lastSeenAt", "signInId", "system"]);
    expect(Object.keys(database().select().from(sessions).get() ?? {}).toSorted())
      .toEqual(["browser", "createdAt", "endedAt", "endsAt", "id", "lastSeenAt", "mailProvedAt", "personId", "provedAt", "system", "tokenHash"]);
  });

  it.each([
    ["mother", 30 * DAY, 90 * DAY], ["therapist", HOUR, DAY], ["lead", HOUR, DAY],
  ] as const)("of %s shows what still opens, and not what is past its time", async (who, idle, whole) => {
    const asked = signIn(who, T);
    const others = async (now: number) => (await listed(asked, now)).filter(({ isThis }) => !isThis).length;
    const unused = signIn(who, T);
    expect([await others(T + idle - SECOND), unused.at(T + idle + SECOND)]).toEqual([1, null]);
    expect(await others(T + idle + SECOND)).toBe(0);
    database().update(sessions).set({ lastSeenAt: T + whole }).run();
    expect(await others(T + whole - SECOND)).toBe(1);
    expect([await others(T + whole + SECOND), unused.at(T + whole + SECOND)]).toEqual([0, null]);
  });

  it("is ended one by one: a copied cookie opens nothing from then on, and the others stay", async () => {
    const [phone, laptop, stolen] = [signIn("mother"), signIn("mother"), signIn("mother")];
    const row = database().select({ id: sessions.id }).from(sessions).where(eq(sessions.tokenHash, stolen.actor.sessionId)).get();
    const end = async () => endSignIn(await grant(phone.actor, "sign-ins.end", null), row?.id ?? "", T);
    expect(codeOf(await end())).toBe("ok");
    expect([phone, laptop, stolen].map(({ at }) => at(T + SECOND)?.personId)).toEqual(["mother", "mother", undefined]);
    expect(codeOf(await end())).toBe("stale-version");
    expect(await listed(phone)).toHaveLength(2);
  });

  it("is ended everywhere else at once, for nobody else, and written down", async () => {
    const mine = [signIn("mother"), signIn("mother"), signIn("mother")];
    const his = signIn("father");
    for (const [id, personId] of [["here", "mother"], ["there", "mother"], ["his", "father"]] as const) {
      database().insert(pushPhones).values({ id, personId, endpointHash: id, sealedAddress: "", device: "other", createdAt: T }).run();
    }
    expect(codeOf(await endOtherSignIns(await grant(mine[0]?.actor ?? his.actor, "sign-ins.end", null), "here", T))).toBe("ok");
    expect(database().select({ id: pushPhones.id }).from(pushPhones).all()).toEqual([{ id: "here" }, { id: "his" }]);
    expect(mine.map(({ at }) => at(T + SECOND)?.personId)).toEqual(["mother", undefined, undefined]);
    expect(his.at(T + SECOND)?.personId).toBe("father");
    expect(database().select({ actorId: auditEntries.actorId }).from(auditEntries).where(eq(auditEntries.act, "sign-ins.ended")).all()).toEqual([{ actorId: "mother" }]);
  });

  it("is neither seen nor ended by another person, nor ended by itself", async () => {
    const [hers, his] = [signIn("mother"), signIn("father")];
    expect(await listed(his)).toHaveLength(1);
    const idOf = ({ actor }: Browser) => database().select({ id: sessions.id }).from(sessions).where(eq(sessions.tokenHash, actor.sessionId)).get()?.id ?? "";
    for (const id of [idOf(hers), idOf(his), "made-up"]) {
      expect(codeOf(await endSignIn(await grant(his.actor, "sign-ins.end", null), id, T)), id).toBe("stale-version");
    }
    expect([hers, his].map(({ at }) => at(T + SECOND)?.personId)).toEqual(["mother", "father"]);
  });
});

/** Sets up an authenticator app behind an invitation that waits at this step. */
function setUp(personId: string, now = T) {
  const token = beginSecondStep(personId, "invitation", now);
  const secret = secondStepOf(token, now)?.newSecret ?? "";
  const proved = proveByTotp(token, codeAt(secret, now), now);
  return { secret, code: proved.ok ? (proved.value.codes?.[0] ?? "") : "" };
}

function expectNothingLeft(personId: string): void {
  for (const table of [passkeys, totpSecrets, recoveryCodes, totpFailures]) {
    expect(database().select().from(table).where(eq(table.personId, personId)).all()).toEqual([]);
  }
}

/** What waits for a person by mail. */
const mailsOf = (personId: string) => database().select({ kind: notices.kind }).from(notices).where(eq(notices.personId, personId)).all().map(({ kind }) => kind).toSorted();

describe("a colleague who lost their device", () => {
  const reset = async (lead: Browser, personId: string, now = T) => resetSecondFactor(await grant(lead.actor, "staff.manage", null), personId, now);

  it("keeps nothing to sign in with, is out everywhere at once, is told, and sets up anew behind the invitation", async () => {
    const { secret, code } = setUp("therapist");
    const lead = signIn("lead");
    const therapist = signIn("therapist");
    const half = beginSecondStep("therapist", "mail", T);
    database().insert(totpFailures).values({ personId: "therapist", failures: 100, lastAt: T }).run();
    expect(codeOf(await reset(lead, "therapist"))).toBe("ok");
    expect(therapist.at(T)).toBeNull();
    expectNothingLeft("therapist");
    expect(codeOf(proveByTotp(half, codeAt(secret, T + MINUTE), T + MINUTE))).toBe("second-step-over");
    expect(codeOf(proveByRecoveryCode(beginSecondStep("therapist", "mail", T), code, T))).toBe("recovery-code-wrong");
    expect(secondStepOf(beginSecondStep("therapist", "mail", T), T)?.newSecret).toBeNull();
    expect(mailsOf("therapist")).toEqual(["invitation", "second-factor-reset"]);
    expect((await listStaff(await grant(lead.actor, "staff.manage", null))).find(({ personId }) => personId === "therapist")).toMatchObject({ isSetUp: false });
    const again = setUp("therapist", T + MINUTE);
    expect(again.secret).not.toBe(secret);
    const rows = database().select({ actorId: auditEntries.actorId, objectId: auditEntries.objectId }).from(auditEntries).where(eq(auditEntries.act, "second-factor.reset")).all();
    expect(rows).toEqual([{ actorId: "lead", objectId: "therapist" }]);
  });

  it("is never oneself, a family, somebody of another practice, or somebody without access", async () => {
    setUp("lead");
    const lead = signIn("lead");
    expect(codeOf(await reset(lead, "lead"))).toBe("own-reset");
    for (const personId of ["mother", "nobody"]) expect(codeOf(await reset(lead, personId)), personId).toBe("stale-version");
    database().update(people).set({ disabledAt: T }).where(eq(people.id, "therapist")).run();
    expect(codeOf(await reset(lead, "therapist"))).toBe("stale-version");
    expect(lead.at(T)?.personId).toBe("lead");
    expect(mailsOf("mother")).toEqual([]);
  });

  it("is reset by a lead alone", async () => {
    const therapist = signIn("therapist");
    await expect(grant(therapist.actor, "staff.manage", null)).rejects.toThrow();
  });
});

describe("a lead who lost everything", () => {
  it("gets an address from whoever holds the machine, which is written down", () => {
    setUp("lead");
    const lead = signIn("lead");
    const address = resetLostLead(database(), " Lead@people.example ", new Date(T));
    expect(lead.at(T)).toBeNull();
    expectNothingLeft("lead");
    const key = new URL(address ?? "").searchParams.get("key") ?? "";
    expect(invitedBy(key, T + DAY - SECOND)?.personId).toBe("lead");
    expect(invitedBy(key, T + DAY + SECOND)).toBeNull();
    expect(codeOf(acceptInvitation(key, null, T + MINUTE))).toBe("ok");
    expect(codeOf(acceptInvitation(key, null, T + MINUTE))).toBe("link-spent");
    expect(setUp("lead", T + MINUTE).code).toMatch(/^[0-9A-Z-]{29}$/);
    expect(mailsOf("lead")).toEqual(["second-factor-reset"]);
    const rows = database().select({ actorId: auditEntries.actorId, objectId: auditEntries.objectId }).from(auditEntries).where(eq(auditEntries.act, "second-factor.reset-at-machine")).all();
    expect(rows).toEqual([{ actorId: null, objectId: "lead" }]);
  });

  it.each(["therapist@people.example", "mother@people.example", "nobody@people.example", "no address", ""])("is not %j: nothing changes", (email) => {
    setUp("lead");
    setUp("therapist");
    const before = database().select().from(auditEntries).all().length;
    expect(resetLostLead(database(), email, new Date(T))).toBeNull();
    expect(database().select().from(totpSecrets).all()).toHaveLength(2);
    expect(database().select().from(auditEntries).all()).toHaveLength(before);
  });
});
