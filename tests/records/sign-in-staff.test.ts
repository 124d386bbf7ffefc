import { createHash, generateKeyPairSync, sign } from "node:crypto";
import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { people } from "@/db/schema/practice";
import { passkeys, totpSecrets } from "@/db/schema/sign-in";
import { passkeyOffer, passkeyRequest } from "@/lib/access/passkey";
import { beginSecondStep, proveByNewPasskey, proveByPasskey, proveByPasskeyAlone, proveByTotp, secondStepOf } from "@/lib/access/second-factor";
import { openSession } from "@/lib/access/session-row";
import { totpStep } from "@/lib/access/totp";
import { Secret, TOTP } from "otpauth";
import { addPerson, makeWorld } from "@/tests/records/world";

const T = Date.UTC(2026, 2, 3, 16, 20);
const [STEP, MINUTE] = [30_000, 60_000];

let world: ReturnType<typeof makeWorld>;
beforeEach(() => {
  process.env["PUBLIC_URL"] = "https://practice.example";
  world = makeWorld();
  addPerson("therapist", "therapist");
  addPerson("other", "therapist");
});
afterEach(() => {
  delete process.env["PUBLIC_URL"];
  world.close();
});

const codeOf = (result: { readonly ok: boolean; readonly problem?: { readonly code: string } }): string => (result.ok ? "ok" : result.problem?.code ?? "?");
const codeAt = (secret: string, at: number): string => new TOTP({ secret: Secret.fromBase32(secret), digits: 6, period: 30, algorithm: "SHA1" }).generate({ timestamp: at });

function setUpTotp(personId: string, now: number): string {
  const token = beginSecondStep(personId, "invitation", now);
  const secret = secondStepOf(token, now)?.newSecret ?? "";
  expect(proveByTotp(token, codeAt(secret, now), now)).toEqual({ ok: true, value: { personId } });
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

/**
 * A platform authenticator in software, after W3C Web Authentication Level 2, sections 6.1 (authenticator
 * data), 6.5.1 (attested credential data) and 8.7 (no attestation); ES256 key as COSE (RFC 9053).
 */
function authenticator(options: { readonly origin?: string; readonly flags?: number } = {}) {
  const { privateKey, publicKey } = generateKeyPairSync("ec", { namedCurve: "P-256" });
  const jwk = publicKey.export({ format: "jwk" });
  const id = Buffer.from(createHash("sha256").update(jwk.x ?? "").digest().subarray(0, 16));
  const base = (bytes: Buffer): string => bytes.toString("base64url");
  // User present 1, user verified 4, attested credential data 64.
  const flags = options.flags ?? 5;
  let counter = 0;
  const authData = (extra: Buffer, more: number): Buffer => {
    const head = Buffer.alloc(37);
    createHash("sha256").update("practice.example").digest().copy(head);
    head[32] = flags | more;
    head.writeUInt32BE(counter, 33);
    return Buffer.concat([head, extra]);
  };
  const client = (type: string, challenge: string): Buffer =>
    Buffer.from(JSON.stringify({ type, challenge, origin: options.origin ?? "https://practice.example", crossOrigin: false }));
  const common = { id: base(id), rawId: base(id), type: "public-key" as const, clientExtensionResults: {} };
  return {
    make(challenge: string) {
      const cose = Buffer.concat([
        Buffer.from("a5010203262001215820", "hex"), Buffer.from(jwk.x ?? "", "base64url"), Buffer.from("225820", "hex"), Buffer.from(jwk.y ?? "", "base64url"),
      ]);
      const data = authData(Buffer.concat([Buffer.alloc(16), Buffer.from([0, id.length]), id, cose]), 64);
      const attestation = Buffer.concat([
        Buffer.from("a363666d74646e6f6e656761747453746d74a068617574684461746158", "hex"), Buffer.from([data.length]), data,
      ]);
      return { ...common, response: { clientDataJSON: base(client("webauthn.create", challenge)), attestationObject: base(attestation), transports: [] } };
    },
    show(challenge: string, step = 1) {
      counter += step;
      const data = authData(Buffer.alloc(0), 0);
      const clientData = client("webauthn.get", challenge);
      const signature = sign("sha256", Buffer.concat([data, createHash("sha256").update(clientData).digest()]), privateKey);
      return { ...common, response: { clientDataJSON: base(clientData), authenticatorData: base(data), signature: base(signature) } };
    },
  };
}

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
