import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { actsDone, auditEntries, notices } from "@/db/schema/machinery";
import { recoveryCodes, sessions, totpFailures } from "@/db/schema/sign-in";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { passkeyOffer, passkeyRequest } from "@/lib/access/passkey";
import { recoveryCodesLeft } from "@/lib/access/recovery-code";
import { beginSecondStep, proveByPasskey, proveByPasskeyAlone, proveByRecoveryCode, proveByTotp, secondStepOf } from "@/lib/access/second-factor";
import { actorOf, openSession } from "@/lib/access/session-row";
import { isProofEnough } from "@/lib/domain/policy/policy";
import { addPasskey, ownSignIn, removePasskey, renewRecoveryCodes } from "@/lib/records/own-sign-in";
import { proveAgain, proveAgainByPasskey, proveAgainInDemo } from "@/lib/records/proof";
import { authenticator, codeAt, codeOf, staffWorld } from "@/tests/records/factors";

const T = Date.UTC(2026, 2, 3, 16, 20);
const [SECOND, MINUTE] = [1000, 60_000];

let world: ReturnType<typeof staffWorld>;
beforeEach(() => {
  world = staffWorld();
});
afterEach(() => world.close());

/** Sets up an authenticator app behind an invitation; gives its secret and the codes that came with it. */
function setUp(personId: string, now = T): { readonly secret: string; readonly codes: readonly string[] } {
  const token = beginSecondStep(personId, "invitation", now);
  const secret = secondStepOf(token, now)?.newSecret ?? "";
  const proved = proveByTotp(token, codeAt(secret, now), now);
  expect(codeOf(proved)).toBe("ok");
  return { secret, codes: (proved.ok ? proved.value.codes : null) ?? [] };
}

const byCode = (personId: string, code: string, now = T): string => codeOf(proveByRecoveryCode(beginSecondStep(personId, "mail", now), code, now));

function signedIn(personId: string, provedAt: number): { readonly actor: Actor; readonly at: (now: number) => Actor | null } {
  const opened = database().transaction((tx) => openSession(tx, { personId, provedAt, replaces: null }, provedAt));
  const at = (now: number): Actor | null => actorOf(opened?.token ?? "", now);
  const actor = at(provedAt);
  if (!actor) throw new Error("nobody is signed in");
  return { actor, at };
}

describe("a recovery code", () => {
  it("comes in tens with a new second factor, of 24 signs that nobody mistakes, and is kept as a hash alone", () => {
    const { codes } = setUp("therapist");
    expect(codes).toHaveLength(10);
    expect(new Set(codes).size).toBe(10);
    // 24 of 32 signs are 120 bits: above the 112 and 64 of NIST SP 800-63B-4, 3.1.2 (from memory).
    for (const code of codes) expect(code).toMatch(/^(?:[0-9A-HJKMNP-TV-Z]{4}-){5}[0-9A-HJKMNP-TV-Z]{4}$/);
    const kept = JSON.stringify(database().select().from(recoveryCodes).all());
    for (const code of codes) expect(kept.includes(code) || kept.includes(code.replaceAll("-", ""))).toBe(false);
    expect(recoveryCodesLeft("therapist")).toEqual({ left: 10, madeAt: T });
    expect(recoveryCodesLeft("other")).toBeNull();
  });

  it("stands in for the second step once, however it is typed, and a replay is refused", () => {
    const [first = "", second = ""] = setUp("therapist").codes;
    expect(byCode("therapist", ` ${first.toLowerCase().replaceAll("-", " ")} `)).toBe("ok");
    expect(byCode("therapist", first)).toBe("recovery-code-wrong");
    expect(recoveryCodesLeft("therapist")?.left).toBe(9);
    expect(byCode("therapist", second.replaceAll("0", "o").replaceAll("1", "l"))).toBe("ok");
    for (const typed of ["", "x", first.slice(0, -1), `${second}A`]) expect(byCode("therapist", typed)).toBe("recovery-code-wrong");
  });

  it("is nobody else's", () => {
    const [first = ""] = setUp("therapist").codes;
    setUp("other");
    expect(byCode("other", first)).toBe("recovery-code-wrong");
    expect(byCode("therapist", first)).toBe("ok");
  });

  it("opens one session when two browsers show it at the same moment", () => {
    const [first = ""] = setUp("therapist").codes;
    const steps = [beginSecondStep("therapist", "mail", T), beginSecondStep("therapist", "mail", T)];
    expect(steps.map((step) => codeOf(proveByRecoveryCode(step, first, T))).toSorted()).toEqual(["ok", "recovery-code-wrong"]);
  });

  it("is worth nothing without the first step, and its guesses end with the step", () => {
    const [first = ""] = setUp("therapist").codes;
    expect(codeOf(proveByRecoveryCode("made-up", first, T))).toBe("second-step-over");
    const step = beginSecondStep("therapist", "mail", T);
    for (let n = 0; n < 5; n += 1) expect(codeOf(proveByRecoveryCode(step, "0".repeat(24), T))).toBe("recovery-code-wrong");
    expect(codeOf(proveByRecoveryCode(step, first, T))).toBe("second-step-over");
  });

  it("does not set a second factor up", () => {
    const { codes: [first = ""] } = setUp("therapist");
    const step = beginSecondStep("other", "invitation", T);
    expect(codeOf(proveByRecoveryCode(step, first, T))).toBe("second-factor-wrong");
    expect(recoveryCodesLeft("therapist")?.left).toBe(10);
  });

  it("is written down and told by a mail that holds nothing of it", () => {
    const [first = ""] = setUp("therapist").codes;
    byCode("therapist", "0".repeat(24));
    byCode("therapist", first);
    const audit = database().select().from(auditEntries).where(eq(auditEntries.act, "recovery-code.used")).all();
    expect(audit.map(({ outcome }) => outcome)).toEqual(["refused", "done"]);
    expect(JSON.stringify(audit)).not.toContain(first);
    expect(database().select({ kind: notices.kind, personId: notices.personId, values: notices.sealedValues }).from(notices).all())
      .toEqual([{ kind: "recovery-code-used", personId: "therapist", values: null }]);
  });

  it("is replaced by a new set, of which nothing stays in what an act remembers", async () => {
    const [old = ""] = setUp("therapist").codes;
    const once = crypto.randomUUID();
    const renew = async () => renewRecoveryCodes(await grant(signedIn("therapist", T).actor, "sign-in.change", null, once), T + MINUTE);
    const made = await renew();
    const codes = made.ok ? (made.value ?? []) : [];
    expect(codes).toHaveLength(10);
    // Pressed twice, the set that was shown still is the one that counts.
    expect(await renew()).toEqual({ ok: true, value: null });
    expect(JSON.stringify(database().select().from(actsDone).all())).not.toContain(codes[0]);
    expect(byCode("therapist", old, T + MINUTE)).toBe("recovery-code-wrong");
    expect(byCode("therapist", codes[0] ?? "", T + MINUTE)).toBe("ok");
    expect(database().select({ kind: notices.kind }).from(notices).all()).toContainEqual({ kind: "sign-in-changed" });
  });
});

/** NIST SP 800-63B-4, 3.2.2: no more than 100 consecutive failed attempts on one account (from memory). */
describe("an authenticator app", () => {
  function fail(times: number, now = T): readonly string[] {
    return Array.from({ length: times }, () => codeOf(proveByTotp(beginSecondStep("therapist", "mail", now), "1", now)));
  }
  /** As a hundred wrong codes leave it, which another test types. */
  function close(): void {
    database().insert(totpFailures).values({ personId: "therapist", failures: 100, lastAt: T }).run();
  }
  const right = (secret: string, now: number): string => codeOf(proveByTotp(beginSecondStep("therapist", "mail", now), codeAt(secret, now), now));

  it("still counts after 99 wrong codes in a row, and then begins anew", () => {
    const { secret } = setUp("therapist");
    expect(new Set(fail(99))).toEqual(new Set(["second-factor-wrong"]));
    expect(right(secret, T + MINUTE)).toBe("ok");
    expect(database().select().from(totpFailures).all()).toEqual([]);
    expect(fail(1, T + MINUTE)).toEqual(["second-factor-wrong"]);
  });

  it("is closed by the hundredth, right or wrong, over as many steps as it takes, for this person alone", () => {
    const { secret } = setUp("therapist");
    const other = setUp("other");
    fail(100);
    expect(fail(1)).toEqual(["totp-closed"]);
    expect(right(secret, T + MINUTE)).toBe("totp-closed");
    expect(right(secret, T + 400 * 86_400_000)).toBe("totp-closed");
    expect(secondStepOf(beginSecondStep("therapist", "mail", T), T)).toMatchObject({ isTotpClosed: true, recoveryLeft: 10 });
    expect(codeOf(proveByTotp(beginSecondStep("other", "mail", T + MINUTE), codeAt(other.secret, T + MINUTE), T + MINUTE))).toBe("ok");
  });

  it("opens again with a recovery code", () => {
    const { secret, codes } = setUp("therapist");
    close();
    expect(byCode("therapist", codes[0] ?? "")).toBe("ok");
    expect(right(secret, T + MINUTE)).toBe("ok");
  });

  it("opens again with a passkey, as a second step or alone", async () => {
    const { secret } = setUp("therapist");
    const { actor } = signedIn("therapist", T);
    const device = authenticator();
    const made = device.make((await passkeyOffer({ id: "therapist", email: "a", name: "a" }, T)).challenge);
    expect(codeOf(await addPasskey(await grant(actor, "sign-in.change", null), made, T))).toBe("ok");
    close();
    const shown = async () => device.show((await passkeyRequest(null, T)).challenge);
    expect(codeOf(await proveByPasskey(beginSecondStep("therapist", "mail", T), await shown(), T))).toBe("ok");
    expect(right(secret, T + MINUTE)).toBe("ok");
    close();
    expect(codeOf(await proveByPasskeyAlone(await shown(), T))).toBe("ok");
    expect(right(secret, T + 2 * MINUTE)).toBe("ok");
  });

  it("counts wrong codes of somebody signed in as well", async () => {
    const { secret } = setUp("therapist");
    const granted = await grant(signedIn("therapist", T).actor, "sign-in.prove", null);
    database().insert(totpFailures).values({ personId: "therapist", failures: 98, lastAt: T }).run();
    for (let n = 0; n < 2; n += 1) expect(codeOf(await proveAgain(granted, { factor: "totp", code: "1" }, T))).toBe("second-factor-wrong");
    expect(codeOf(await proveAgain(granted, { factor: "totp", code: codeAt(secret, T + MINUTE) }, T + MINUTE))).toBe("totp-closed");
    expect(right(secret, T + MINUTE)).toBe("totp-closed");
  });
});

describe("a proof shown again", () => {
  it("counts for ten minutes and not a second longer, and never for who has shown none", () => {
    for (const ability of ["sign-in.change", "staff.manage", "practice.settings", "family.invite"] as const) {
      expect(isProofEnough(T, ability, T + 10 * MINUTE - SECOND), ability).toBe(true);
      expect(isProofEnough(T, ability, T + 10 * MINUTE + SECOND), ability).toBe(false);
      expect(isProofEnough(null, ability, T), ability).toBe(false);
    }
    expect(isProofEnough(null, "photo-set.send", T)).toBe(true);
    expect(isProofEnough(T, "answer.write", T + 23 * 60 * MINUTE)).toBe(true);
  });

  it("counts for the session it was shown in alone", async () => {
    const { secret, codes } = setUp("therapist");
    const [one, two] = [signedIn("therapist", T), signedIn("therapist", T)];
    const later = T + 20 * MINUTE;
    const granted = await grant(one.actor, "sign-in.prove", null);
    expect(codeOf(await proveAgain(granted, { factor: "totp", code: codeAt(secret, later) }, later))).toBe("ok");
    expect(one.at(later)?.provedAt).toBe(later);
    expect(two.at(later)?.provedAt).toBe(T);
    expect(codeOf(await proveAgain(granted, { factor: "totp", code: codeAt(secret, later) }, later))).toBe("second-factor-wrong");
    expect(codeOf(await proveAgain(granted, { factor: "recovery-code", code: codes[0] ?? "" }, later + MINUTE))).toBe("ok");
    expect(one.at(later + MINUTE)?.provedAt).toBe(later + MINUTE);
  });

  it("is not another person's passkey, nor a press outside the demo", async () => {
    setUp("therapist");
    const device = authenticator();
    const made = device.make((await passkeyOffer({ id: "other", email: "o", name: "o" }, T)).challenge);
    expect(codeOf(await addPasskey(await grant(signedIn("other", T).actor, "sign-in.change", null), made, T))).toBe("ok");
    const granted = await grant(signedIn("therapist", T).actor, "sign-in.prove", null);
    const shown = device.show((await passkeyRequest(null, T)).challenge);
    expect(codeOf(await proveAgainByPasskey(granted, shown, T + MINUTE))).toBe("second-factor-wrong");
    expect(codeOf(await proveAgainByPasskey(granted, null, T + MINUTE))).toBe("second-factor-wrong");
    expect(codeOf(await proveAgainInDemo(granted, T + MINUTE))).toBe("form-invalid");
    expect(database().select({ provedAt: sessions.provedAt }).from(sessions).all().every(({ provedAt }) => provedAt === T)).toBe(true);
  });
});

describe("one's own passkeys", () => {
  const offered = async (device: ReturnType<typeof authenticator>, personId: string) =>
    device.make((await passkeyOffer({ id: personId, email: personId, name: personId }, T)).challenge);

  it("are added and removed, and the last second factor never goes", async () => {
    setUp("therapist");
    const { actor } = signedIn("therapist", T);
    const change = async () => grant(actor, "sign-in.change", null);
    const own = async () => ownSignIn(await grant(actor, "sign-in.read", null));
    expect(codeOf(await addPasskey(await change(), await offered(authenticator(), "therapist"), T))).toBe("ok");
    expect(codeOf(await addPasskey(await change(), null, T))).toBe("second-factor-wrong");
    const [key] = (await own()).passkeys;
    expect(key).toMatchObject({ createdAt: T, lastUsedAt: null });
    expect(codeOf(await removePasskey(await change(), key?.passkeyId ?? "", T))).toBe("ok");
    expect(codeOf(await removePasskey(await change(), key?.passkeyId ?? "", T))).toBe("stale-version");
    expect(await own()).toMatchObject({ passkeys: [], hasTotp: true, recovery: { left: 10 } });
  });

  it("are nobody else's to remove, and one alone stays", async () => {
    const { actor } = signedIn("therapist", T);
    const stranger = signedIn("other", T).actor;
    expect(codeOf(await addPasskey(await grant(actor, "sign-in.change", null), await offered(authenticator(), "therapist"), T))).toBe("ok");
    const [key] = (await ownSignIn(await grant(actor, "sign-in.read", null))).passkeys;
    expect(codeOf(await removePasskey(await grant(stranger, "sign-in.change", null), key?.passkeyId ?? "", T))).toBe("stale-version");
    expect(codeOf(await removePasskey(await grant(actor, "sign-in.change", null), key?.passkeyId ?? "", T))).toBe("last-factor");
    expect((await ownSignIn(await grant(actor, "sign-in.read", null))).passkeys).toEqual([key]);
  });
});
