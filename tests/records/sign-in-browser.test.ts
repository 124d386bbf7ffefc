import { createECDH } from "node:crypto";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { codeAction, askForCodeAction, demoAction, linkAction, totpAction } from "@/app/(open)/sign-in/actions";
import { joinAction } from "@/app/(open)/join/actions";
import { DELETE, POST } from "@/app/api/push/route";
import { POST as signOut } from "@/app/(open)/sign-out/route";
import { database } from "@/db/client";
import { auditEntries, notices } from "@/db/schema/machinery";
import { people } from "@/db/schema/practice";
import { pushPhones } from "@/db/schema/reach";
import { sessions } from "@/db/schema/sign-in";
import { wrapToken } from "@/lib/access/auth-options";
import { openInvitation } from "@/lib/access/invitation";
import { unseal } from "@/lib/access/sealed";
import { currentActor } from "@/lib/access/session";
import { actorOf, openSession } from "@/lib/access/session-row";
import { addPerson, makeWorld } from "@/tests/records/world";

type Cookie = { readonly value: string; readonly options: Readonly<Record<string, unknown>> };
/** One browser as the server sees it: what it keeps, and where its requests come from. */
const browser = vi.hoisted(() => ({ jar: new Map<string, Cookie>(), headers: new Headers() }));
vi.mock("next/headers", () => ({
  headers: async () => browser.headers,
  cookies: async () => ({
    get: (name: string) => (browser.jar.get(name)?.value ? { value: browser.jar.get(name)?.value } : undefined),
    set: (name: string, value: string, options: Readonly<Record<string, unknown>>) => browser.jar.set(name, { value, options }),
  }),
}));

const SESSION = "__Host-trueside.session-token";
let world: ReturnType<typeof makeWorld>;
beforeEach(() => {
  process.env["PUBLIC_URL"] = "https://practice.example";
  world = makeWorld();
  browser.jar.clear();
  browser.headers = new Headers({ origin: "https://practice.example" });
  addPerson("mother", "guardian");
  addPerson("therapist", "therapist");
});
afterEach(() => {
  for (const name of ["PUBLIC_URL", "DEMO"]) delete process.env[name];
  world.close();
});

type Action = (state: unknown, form: FormData) => Promise<{ readonly problem: { readonly code: string } | null }>;

/** Sends a form and says where it led, or which problem it met. */
async function send(action: Action, fields: Readonly<Record<string, string>>): Promise<string> {
  const form = new FormData();
  for (const [name, value] of Object.entries(fields)) form.set(name, value);
  try {
    return (await action(null, form)).problem?.code ?? "done";
  } catch (error) {
    // Next says a redirect and a not-found page by errors with a digest.
    const digest = typeof error === "object" && error !== null && "digest" in error ? String(error.digest) : String(error);
    return digest.startsWith("NEXT_REDIRECT") ? digest.split(";")[2] ?? "" : digest;
  }
}

function mailedTo(personId: string): { readonly code: string; readonly key: string } {
  const row = database().select().from(notices).all().find((each) => each.personId === personId && each.sealedValues !== null);
  return JSON.parse(unseal("notice", row?.sealedValues ?? "") ?? '{"code":"none","key":"none"}') as { code: string; key: string };
}

describe("a family in its browser", () => {
  it("asks, types the code, and holds one cookie that scripts, other hosts and other sites do not get", async () => {
    expect(await send(askForCodeAction, { email: "Mother@people.example", goTo: "/family/history" })).toBe("/sign-in/code");
    expect(await send(codeAction, { code: mailedTo("mother").code })).toBe("/family/history");
    const cookie = browser.jar.get(SESSION);
    expect(cookie?.options).toEqual({ httpOnly: true, sameSite: "lax", path: "/", secure: true, maxAge: 90 * 86_400 });
    expect(`${SESSION}=${cookie?.value}`.length).toBeLessThan(4096);
    expect((await currentActor())?.personId).toBe("mother");
    const [row] = database().select().from(sessions).all();
    expect(cookie?.value).not.toContain(row?.tokenHash ?? "?");
  });

  it("is told the same about an address nobody has", async () => {
    const asked = [await send(askForCodeAction, { email: "mother@people.example" }), await send(askForCodeAction, { email: "nobody@people.example" })];
    expect(asked).toEqual(["/sign-in/code", "/sign-in/code"]);
    expect(await send(codeAction, { code: "00000000" })).toBe("code-wrong");
  });

  it("is signed in by a link only where it was asked for", async () => {
    await send(askForCodeAction, { email: "mother@people.example" });
    const { key } = mailedTo("mother");
    const own = new Map(browser.jar);
    browser.jar.clear();
    expect(await send(linkAction, { key })).toBe("link-elsewhere");
    expect(browser.jar.size).toBe(0);
    for (const [name, cookie] of own) browser.jar.set(name, cookie);
    expect(await send(linkAction, { key })).toBe("/");
    expect((await currentActor())?.personId).toBe("mother");
  });

  it("keeps no session that somebody put into its browser", async () => {
    addPerson("attacker", "guardian");
    const token = database().transaction((tx) => openSession(tx, { personId: "attacker", provedAt: null, replaces: null }, Date.now()))?.token ?? "";
    const planted = await wrapToken(token, 60_000);
    browser.jar.set(SESSION, { value: planted, options: {} });
    expect((await currentActor())?.personId).toBe("attacker");
    await send(askForCodeAction, { email: "mother@people.example" });
    await send(codeAction, { code: mailedTo("mother").code });
    expect((await currentActor())?.personId).toBe("mother");
    expect(actorOf(token, Date.now())).toBeNull();
    for (const value of [planted, await wrapToken("invented", 60_000), "planted", "a.b.c", "", "e30.e30.e30"]) {
      browser.jar.set(SESSION, { value, options: {} });
      expect(await currentActor()).toBeNull();
    }
  });

  it("signs out for good: a copied cookie opens nothing", async () => {
    await send(askForCodeAction, { email: "mother@people.example" });
    await send(codeAction, { code: mailedTo("mother").code });
    const copied = browser.jar.get(SESSION);
    const request = (origin: string) => new Request("https://practice.example/sign-out", { method: "POST", headers: { origin } });
    expect((await signOut(request("https://evil.example"), { params: Promise.resolve({}) })).status).toBe(403);
    expect((await currentActor())?.personId).toBe("mother");
    const answer = await signOut(request("https://practice.example"), { params: Promise.resolve({}) });
    expect([answer.status, answer.headers.get("location"), answer.headers.get("clear-site-data")]).toEqual([303, "/sign-in", '"cache", "storage"']);
    if (copied) browser.jar.set(SESSION, copied);
    expect(await currentActor()).toBeNull();
  });
});

describe("a browser that is pushed to", () => {
  const receiver = createECDH("prime256v1");
  receiver.generateKeys();
  const keys = { p256dh: receiver.getPublicKey("base64url"), auth: "A".repeat(22) };
  const ask = (method: string, body?: object, more: Readonly<Record<string, string>> = {}) => {
    const text = body ? JSON.stringify(body) : undefined;
    return new Request("https://practice.example/api/push", {
      method, headers: { origin: "https://practice.example", "user-agent": "Mozilla/5.0 (Linux; Android 10; K)", ...(text ? { "content-length": String(text.length) } : {}), ...more }, ...(text ? { body: text } : {}),
    });
  };
  const params = { params: Promise.resolve({}) };
  const push = async (more: object = {}, headers: Readonly<Record<string, string>> = {}) => (await POST(ask("POST", { endpoint: "https://web.push.apple.com/one", expirationTime: null, keys, ...more }, headers), params)).status;
  const owners = () => database().select().from(pushPhones).all().map(({ personId }) => personId);
  const PHONE = "__Host-trueside.phone";
  async function enter(personId: string): Promise<void> {
    process.env["DEMO"] = "1";
    database().update(people).set({ demoOrder: 1 }).run();
    await send(demoAction, { person: personId });
    expect((await currentActor())?.personId).toBe(personId);
  }
  const leave = () => signOut(new Request("https://practice.example/sign-out", { method: "POST", headers: { origin: "https://practice.example" } }), params);

  it("is so for whoever asked, until they sign out there, and its cookie is for no script", async () => {
    expect(await push()).toBe(401);
    await enter("mother");
    expect(await push({}, { origin: "https://evil.example" })).toBe(403);
    expect(await push({}, { "x-person": "therapist" })).toBe(409);
    expect([await push({ keys: { ...keys, auth: "short" } }), await push({ endpoint: 7 }), await push({ more: "x".repeat(5_000) })]).toEqual([400, 400, 413]);
    expect(owners()).toEqual([]);
    expect(await push()).toBe(200);
    expect(owners()).toEqual(["mother"]);
    expect(browser.jar.get(PHONE)?.options).toMatchObject({ httpOnly: true, sameSite: "lax", path: "/", secure: true });
    await leave();
    expect([owners(), browser.jar.get(PHONE)?.value]).toEqual([[], ""]);
  });

  it("stays so when its person's session ran out and they sign in again, and ends when somebody else does", async () => {
    await enter("mother");
    await push();
    browser.jar.delete(SESSION);
    await enter("mother");
    expect(owners()).toEqual(["mother"]);
    // The session ran out, nobody signed out, and the phone is in other hands.
    browser.jar.delete(SESSION);
    await enter("therapist");
    expect([owners(), browser.jar.get(PHONE)?.value]).toEqual([[], ""]);
    // What the browser renews by itself is nobody's choice then.
    expect(await push({ isRenewal: true })).toBe(422);
    expect(owners()).toEqual([]);
  });

  it("is ended by one press there, and known once however often it is asked", async () => {
    await enter("mother");
    await push();
    await push({ endpoint: "https://web.push.apple.com/two" });
    await push({ endpoint: "https://web.push.apple.com/three", isRenewal: true });
    expect(owners()).toEqual(["mother"]);
    expect((await DELETE(ask("DELETE"), params)).status).toBe(200);
    expect([owners(), browser.jar.get(PHONE)?.value]).toEqual([[], ""]);
  });
});

describe("staff in their browser", () => {
  it("get no session from a code, a link or an invitation: only the way to the second step", async () => {
    await send(askForCodeAction, { email: "therapist@people.example" });
    expect(await send(codeAction, { code: mailedTo("therapist").code })).toBe("/sign-in/second-step");
    expect([browser.jar.has(SESSION), await currentActor()]).toEqual([false, null]);
    expect(await send(totpAction, { code: "123456" })).toBe("second-factor-wrong");
    const { key } = database().transaction((tx) => openInvitation(tx, "therapist", null, Date.now()));
    expect(await send(joinAction, { key })).toBe("/sign-in/second-step");
    expect([browser.jar.has(SESSION), database().select().from(sessions).all()]).toEqual([false, []]);
  });
});

describe("an open action", () => {
  it.each([
    ["another site", { origin: "https://evil.example" }], ["null", { origin: "null" }], ["nowhere", {}],
    ["another site that says it is ours", { origin: "https://evil.example", host: "evil.example", "x-forwarded-host": "evil.example" }],
    ["a frame of another site", { origin: "https://practice.example", "sec-fetch-site": "cross-site" }],
  ])("refuses what comes from %s and does nothing", async (_where, headers) => {
    browser.headers = new Headers(headers as Record<string, string>);
    expect(await send(askForCodeAction, { email: "mother@people.example" })).toMatch(/404/);
    expect(database().select().from(notices).all()).toEqual([]);
  });

  it("refuses a field it does not know", async () => {
    expect(await send(askForCodeAction, { email: "mother@people.example", personId: "therapist" })).toBe("form-invalid");
    expect(database().select().from(notices).all()).toEqual([]);
  });

  it("signs nobody in by name outside the demo", async () => {
    database().update(people).set({ demoOrder: 1 }).run();
    expect(await send(demoAction, { person: "therapist" })).toBe("form-invalid");
    process.env["DEMO"] = "1";
    expect(await send(demoAction, { person: "nobody" })).toBe("form-invalid");
    expect(browser.jar.has(SESSION)).toBe(false);
    expect(await send(demoAction, { person: "therapist" })).toBe("/");
    expect((await currentActor())?.role).toBe("therapist");
  });

  it("leaves no address, code or cookie in the audit", async () => {
    await send(askForCodeAction, { email: "mother@people.example" });
    const { code, key } = mailedTo("mother");
    await send(codeAction, { code: "00000000" });
    await send(codeAction, { code });
    const audit = database().select().from(auditEntries).all();
    expect(audit.map(({ act, outcome }) => [act, outcome])).toEqual([["sign-in", "refused"], ["signed-in", "done"]]);
    for (const secret of [code, key, "mother@", browser.jar.get(SESSION)?.value ?? "?"]) expect(JSON.stringify(audit)).not.toContain(secret);
  });
});
