import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { people } from "@/db/schema/practice";
import { passkeys, totpSecrets } from "@/db/schema/sign-in";
import { passkeyOffer, passkeyRequest } from "@/lib/access/passkey";
import { beginSecondStep, proveByNewPasskey, proveByPasskey, proveByPasskeyAlone, proveByTotp, secondStepOf } from "@/lib/access/second-factor";
import { openSession } from "@/lib/access/session-row";
import { totpStep } from "@/lib/access/totp";
import { authenticator, codeAt, codeOf, staffWorld } from "@/tests/records/factors";
import { Secret } from "otpauth";

const T = Date.UTC(2026, 2, 3, 16, 20);
const [STEP, MINUTE] = [30_000, 60_000];

let world: ReturnType<typeof staffWorld>;
beforeEach(() => {
  world = staffWorld();
});
afterEach(() => world.close());

function setUpTotp(personId: string, now: number): string {
  const token = beginSecondStep(personId, "invitation", now);
  const secret = secondStepOf(token, now)?.newSecret ?? "";
  expect(proveByTotp(token, codeAt(secret, now), now)).toMatchObject({ ok: true, value: { personId } });
  return secret;
}

/**
 * RFC 6238, appendix B, SHA-1 rows: seed "12345678901234567890", eight digits printed there; six-digit
 * codes are their last six (RFC 4226, section 5.3: the same number modulo a smaller power of ten).
 */
describe("a time-based code", () => {
  const SEED = Secret.fromLatin1("12345678901234567890").base32;
  it.each([
    [59, "94287082"], [1_111_111_109, "07081804"], [1_111_111_111, "14050471"], [1_234_567_890, "89005924"], [2_000_000_000, "69279037"], [20_000_000_000, "65353130"],
  ])("at %d s is %s", (seconds, code) => {
    expect(totpStep(SEED, code.slice(2), seconds * 1000)).toBe(Math.floor(seconds / 30));
  });

  it("holds one step either way and no further", () => {
    const at = 1_111_111_111_000;
    expect(totpStep(SEED, "050471", at + STEP)).toBe(37_037_037);
    expect(totpStep(SEED, "050471", at - STEP)).toBe(37_037_037);
    expect(totpStep(SEED, "050471", at + 2 * STEP)).toBeNull();
    expect(totpStep(SEED, "050471", at - 2 * STEP)).toBeNull();
    for (const typed of ["", "05047", "0504711", "abcdef"]) expect(totpStep(SEED, typed, at)).toBeNull();
  });
});

describe("the second step of staff", () => {
  it("is set up behind an invitation, then asked for, each code once", () => {
    const secret = setUpTotp("therapist", T);
    expect(database().select().from(totpSecrets).get()?.sealedSecret).not.toContain(secret);
    const again = beginSecondStep("therapist", "mail", T + STEP);
    expect(secondStepOf(again, T + STEP)).toMatchObject({ hasTotp: true, hasPasskey: false, newSecret: null });
    expect(codeOf(proveByTotp(again, codeAt(secret, T), T + STEP))).toBe("second-factor-wrong");
    expect(codeOf(proveByTotp(again, codeAt(secret, T + STEP), T + STEP))).toBe("ok");
    const replay = beginSecondStep("therapist", "mail", T + STEP);
    expect(codeOf(proveByTotp(replay, codeAt(secret, T + STEP), T + STEP))).toBe("second-factor-wrong");
  });

  it("cannot be set up by mail alone, so mail alone opens nothing", () => {
    const token = beginSecondStep("therapist", "mail", T);
    expect(secondStepOf(token, T)).toMatchObject({ newSecret: null, hasTotp: false, hasPasskey: false });
    expect(codeOf(proveByTotp(token, "000000", T))).toBe("second-factor-wrong");
    expect(database().transaction((tx) => openSession(tx, { personId: "therapist", provedAt: null, replaces: null }, T))).toBeNull();
  });

  it("is not replaced by another invitation", () => {
    const secret = setUpTotp("therapist", T);
    const token = beginSecondStep("therapist", "invitation", T + MINUTE);
    expect(secondStepOf(token, T + MINUTE)?.newSecret).toBeNull();
    expect(codeOf(proveByTotp(token, codeAt(secret, T + MINUTE), T + MINUTE))).toBe("ok");
  });

  it("ends after five tries, ten minutes, success, or the person's access", () => {
    const secret = setUpTotp("therapist", T);
    const later = T + MINUTE;
    const tired = beginSecondStep("therapist", "mail", later);
    for (let n = 0; n < 5; n += 1) expect(codeOf(proveByTotp(tired, "1", later))).toBe("second-factor-wrong");
    expect(codeOf(proveByTotp(tired, codeAt(secret, later), later))).toBe("second-step-over");
    const slow = beginSecondStep("therapist", "mail", later);
    expect(codeOf(proveByTotp(slow, codeAt(secret, later + 10 * MINUTE), later + 10 * MINUTE))).toBe("second-step-over");
    const done = beginSecondStep("therapist", "mail", later);
    expect(codeOf(proveByTotp(done, codeAt(secret, later), later))).toBe("ok");
    expect(codeOf(proveByTotp(done, codeAt(secret, later + STEP), later + STEP))).toBe("second-step-over");
    const gone = beginSecondStep("therapist", "mail", later);
    database().update(people).set({ disabledAt: later }).where(eq(people.id, "therapist")).run();
    expect(codeOf(proveByTotp(gone, codeAt(secret, later + 2 * STEP), later + 2 * STEP))).toBe("second-step-over");
  });

  it("does not take another person's code", () => {
    const secret = setUpTotp("therapist", T);
    setUpTotp("other", T);
    const token = beginSecondStep("other", "mail", T + STEP);
    expect(codeOf(proveByTotp(token, codeAt(secret, T + STEP), T + STEP))).toBe("second-factor-wrong");
  });
});

describe("a passkey", () => {
  const person = { id: "therapist", email: "therapist@people.example", name: "therapist" };
  const challengeFor = async (now: number) => (await passkeyRequest(null, now)).challenge;

  async function setUp(device: ReturnType<typeof authenticator>, now = T): Promise<string> {
    const token = beginSecondStep("therapist", "invitation", now);
    return codeOf(await proveByNewPasskey(token, device.make((await passkeyOffer(person, now)).challenge), now));
  }

  it("is set up behind an invitation, then enough alone, each challenge once", async () => {
    const device = authenticator();
    expect(await setUp(device)).toBe("ok");
    const shown = device.show(await challengeFor(T));
    expect(await proveByPasskeyAlone(shown, T)).toEqual({ ok: true, value: { personId: "therapist" } });
    expect(codeOf(await proveByPasskeyAlone(shown, T))).toBe("second-factor-wrong");
    expect(database().select({ counter: passkeys.counter }).from(passkeys).get()).toEqual({ counter: 1 });
  });

  it("is also a second step, for its own person only", async () => {
    const device = authenticator();
    await setUp(device);
    const challenge = (await passkeyRequest("therapist", T)).challenge;
    expect(codeOf(await proveByPasskey(beginSecondStep("other", "mail", T), device.show(challenge), T))).toBe("second-factor-wrong");
    expect(codeOf(await proveByPasskey(beginSecondStep("therapist", "mail", T), device.show(challenge), T))).toBe("ok");
  });

  it("is refused from another origin, without user verification, with an old, foreign or invented challenge", async () => {
    expect(await setUp(authenticator({ origin: "https://evil.example" }))).toBe("second-factor-wrong");
    expect(await setUp(authenticator({ flags: 1 }))).toBe("second-factor-wrong");
    const device = authenticator();
    await setUp(device);
    const old = await challengeFor(T);
    expect(codeOf(await proveByPasskeyAlone(device.show(old), T + 10 * MINUTE))).toBe("second-factor-wrong");
    for (const challenge of [Buffer.from("x").toString("base64url"), "", Buffer.from(`${"a".repeat(43)}.${T}.${"b".repeat(43)}`).toString("base64url")]) {
      expect(codeOf(await proveByPasskeyAlone(device.show(challenge), T))).toBe("second-factor-wrong");
    }
    expect(codeOf(await proveByPasskeyAlone(authenticator().show(await challengeFor(T)), T))).toBe("second-factor-wrong");
    expect(codeOf(await proveByPasskeyAlone(device.show(await challengeFor(T)), T))).toBe("ok");
  });

  it("is refused when its counter goes back, as a copied key's would", async () => {
    const device = authenticator();
    await setUp(device);
    expect(codeOf(await proveByPasskeyAlone(device.show(await challengeFor(T), 5), T))).toBe("ok");
    expect(codeOf(await proveByPasskeyAlone(device.show(await challengeFor(T), -2), T))).toBe("second-factor-wrong");
  });

  it("cannot be made by mail alone, nor beside a factor that stands", async () => {
    const made = async () => authenticator().make((await passkeyOffer(person, T)).challenge);
    expect(codeOf(await proveByNewPasskey(beginSecondStep("therapist", "mail", T), await made(), T))).toBe("second-factor-wrong");
    setUpTotp("therapist", T);
    expect(codeOf(await proveByNewPasskey(beginSecondStep("therapist", "invitation", T), await made(), T))).toBe("second-factor-wrong");
    expect(database().select().from(passkeys).all()).toEqual([]);
  });
});
