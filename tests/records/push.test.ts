import { createRequire } from "node:module";
import { createServer, type Server } from "node:https";
import { existsSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import type { AddressInfo } from "node:net";
import { join } from "node:path";
import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { auditEntries, notices } from "@/db/schema/machinery";
import { people } from "@/db/schema/practice";
import { pushPhones } from "@/db/schema/reach";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { deviceOf } from "@/lib/domain/notices/device";
import { hasOwnWords, NOTICE_KINDS, type NoticeKind } from "@/lib/domain/notices/kinds";
import { endpointOf, MOST_PHONES, PUSH_HOSTS, pushedOf, urgencyOf } from "@/lib/domain/notices/push";
import { openSecrets } from "@/lib/media/secrets";
import { addNotice } from "@/lib/notices/add";
import { deliverNotices, deliverPushes } from "@/lib/notices/outbox";
import { isPublicAddress } from "@/lib/notices/public-address";
import { PushRefused, pushKeys, sendPush, type Push } from "@/lib/notices/push";
import { pushServiceIn, type Asked, type World } from "@/lib/notices/push-service";
import { choose } from "@/lib/records/notice-choices";
import { disablePerson, enablePerson } from "@/lib/records/people";
import { endCare } from "@/lib/records/family-carers";
import { addPhone, endPhone, phonesOf } from "@/lib/records/push-phones";
import { keysOf, newReceiver, opened, receiverOf, vapidIn, type Receiver } from "@/tests/records/push-receiver";
import { addFamilyOf, addPerson, makeWorld } from "@/tests/records/world";

const T = Date.UTC(2026, 2, 3, 16, 20);
const [MINUTE, HOUR] = [60_000, 3_600_000];

let world: ReturnType<typeof makeWorld>;
let mother: Actor;
let therapist: Actor;
let lead: Actor;
beforeEach(() => {
  world = makeWorld();
  [mother, therapist, lead] = [addPerson("mother", "guardian"), addPerson("therapist", "therapist"), addPerson("lead", "lead")];
  addPerson("father", "guardian");
  addFamilyOf("family-a", ["child-1"], { mother: ["child-1"], father: ["child-1"] });
});
afterEach(() => {
  delete process.env["PUBLIC_URL"];
  world.close();
});

let nth = 0;
const addressOf = (name: string, receiver: Receiver = newReceiver()) => ({ endpoint: `https://fcm.googleapis.com/fcm/send/${name}`, ...keysOf(receiver) });
async function reach(who: Actor, { receiver = newReceiver(), endpoint = "", before = null as string | null, isRenewal = false } = {}) {
  nth += 1;
  const address = { ...addressOf(`phone-${nth}`, receiver), ...(endpoint ? { endpoint } : {}) };
  const added = await addPhone(await grant(who, "notices.choose", null), { address, device: "android", before, isRenewal }, T);
  return added.ok ? added.value.id : added.problem.code;
}
const phones = async (who: Actor) => (await phonesOf(await grant(who, "notices.choose", null))).map(({ id }) => id);
const add = (kind: NoticeKind, dedupeKey: string = kind, personId = "mother", now = T): void => database().transaction((tx) => addNotice(tx, { kind, personId, dedupeKey, now }));
const pushes = () => database().select().from(notices).all().filter(({ phoneId }) => phoneId !== null);

function collector(fault: (push: Push, at: number) => Error | null = () => null) {
  const sent: Push[] = [];
  let at = 0;
  return {
    sent,
    send: async (push: Push) => {
      const error = fault(push, (at += 1));
      if (error) throw error;
      sent.push(push);
    },
  };
}

describe("the receiver that these tests use", () => {
  // RFC 8291, section 5 (and appendix A): the worked example.
  const EXAMPLE = "DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A_yl95bQpu6cVPTpK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qulcy4a-fN";
  const ua = receiverOf("q1dXpw3UpT5VOmu_cf_v6ih07Aems3njxI-JWgLcM94", "BTBZMqHH6r4Tts7J_aSIgg");

  it("opens the example of RFC 8291, and nothing that was changed or is for somebody else", () => {
    expect(keysOf(ua).p256dh).toBe("BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4");
    const body = Buffer.from(EXAMPLE, "base64url");
    expect(opened(body, ua)).toBe("When I grow up, I want to be a watermelon");
    expect(() => opened(body, newReceiver())).toThrow();
    const changed = Buffer.from(body);
    changed[100] = (changed[100] ?? 0) ^ 1;
    expect(() => opened(changed, ua)).toThrow();
  });

  it("verifies the example of RFC 8292, and not when a letter of it is another", () => {
    // RFC 8292, section 2.4.
    const head = "eyJ0eXAiOiJKV1QiLCJhbGciOiJFUzI1NiJ9";
    const body = "eyJhdWQiOiJodHRwczovL3B1c2guZXhhbXBsZS5uZXQiLCJleHAiOjE0NTM1MjM3NjgsInN1YiI6Im1haWx0bzpwdXNoQGV4YW1wbGUuY29tIn0";
    const signature = "i3CYb7t4xfxCDquptFOepC9GAu_HLGkMlMuCGSK2rpiUfnK9ojFwDXb1JrErtmysazNjjvW2L9OkSSHzvoD1oA";
    const key = "BA1Hxzyi1RUM1b5wjxsn7nGxAszw2u61m164i3MrAIxHF6YK5h4SDYic-dRuU_RCPCfA5aq9ojSwk5Y2EmClBPs";
    expect(vapidIn(`vapid t=${head}.${body}.${signature}, k=${key}`)?.claims).toEqual({ aud: "https://push.example.net", exp: 1453523768, sub: "mailto:push@example.com" });
    const later = Buffer.from(Buffer.from(body, "base64url").toString("utf8").replace("1453523768", "1453523769")).toString("base64url");
    expect(later).not.toBe(body);
    expect(vapidIn(`vapid t=${head}.${later}.${signature}, k=${key}`)).toBeNull();
  });
});

describe("a push", () => {
  async function sealed(who: Actor, kind: NoticeKind): Promise<{ readonly asked: Asked; readonly text: string }> {
    const receiver = newReceiver();
    await endPhone(await grant(who, "notices.choose", null), "all", T);
    await reach(who, { receiver });
    add(kind, kind, who.personId);
    const asked: Asked[] = [];
    await deliverPushes(database(), T, (push) => sendPush(push, async (each) => {
      asked.push(each);
      return { status: 201, afterMs: 0 };
    }));
    const [first] = asked;
    if (!first) throw new Error("nothing was pushed");
    return { asked: first, text: opened(first.body, receiver) };
  }

  it("is one sentence and a side of the app, in the language of whoever reads it, and nothing else", async () => {
    const { text, asked } = await sealed(mother, "answer-stop");
    expect(JSON.parse(text)).toEqual({ says: "Something new is waiting for you in Trueside", lang: "en", to: "/family" });
    expect(pushedOf(text)?.to).toBe("/family");
    expect(asked.endpoint.href).toMatch(/^https:\/\/fcm\.googleapis\.com\/fcm\/send\/phone-\d+$/);
    database().update(people).set({ language: "es" }).where(eq(people.id, "father")).run();
    expect(JSON.parse((await sealed({ ...mother, personId: "father" }, "answer")).text)).toEqual({ says: "Le espera algo nuevo en Trueside", lang: "es", to: "/family" });
    expect(JSON.parse((await sealed(therapist, "symptom-urgent")).text)).toEqual({ says: "Something new is waiting for you in Trueside", lang: "en", to: "/desk" });
  });

  it("reads the same for every kind, so that an alarm cannot be told from news by who sees the screen", async () => {
    database().update(people).set({ name: "Wilhelmina Quillfeather" }).where(eq(people.id, "mother")).run();
    const texts = new Set<string>();
    for (const kind of (Object.keys(NOTICE_KINDS) as NoticeKind[]).filter((each) => !hasOwnWords(each))) texts.add((await sealed(mother, kind)).text); // the table's own keys
    expect(texts.size).toBe(1);
    expect([...texts].join()).not.toMatch(/Wilhelmina|Quillfeather|child|stop|photo|symptom|pain|scoliosis|exercise/i);
  });

  it("says by whom it is sent (RFC 8292), how long it is good for, how urgent it is, and which it replaces (RFC 8030)", async () => {
    process.env["PUBLIC_URL"] = "https://practice.example";
    const { headers } = (await sealed(therapist, "symptom-urgent")).asked;
    const vapid = vapidIn(headers["Authorization"] ?? "");
    expect(vapid?.key).toBe(pushKeys().publicKey);
    expect(vapid?.claims).toMatchObject({ aud: "https://fcm.googleapis.com", sub: "https://practice.example" });
    const life = Number(vapid?.claims["exp"]) - Date.now() / 1000;
    expect(life > 0 && life <= 86_400).toBe(true);
    expect(headers).toMatchObject({ TTL: "86400", Urgency: "high", Topic: "high", "Content-Encoding": "aes128gcm" });
    expect((await sealed(mother, "answer")).asked.headers).toMatchObject({ Urgency: "normal", Topic: "normal" });
  });

  it("is high for what nobody can switch off, alone or among news", () => {
    for (const [kind, choice] of Object.entries(NOTICE_KINDS)) expect(urgencyOf([kind]), kind).toBe(choice === null ? "high" : "normal");
    expect(urgencyOf(["answer", "symptom-today", "photo-set-sent"])).toBe("high");
  });
});

describe("a push in the outbox", () => {
  it("goes once to each phone, beside the mail, and what waits for one phone goes as one", async () => {
    await reach(mother);
    await reach(mother);
    for (const key of ["a", "a", "b"]) add("answer", key);
    const { sent, send } = collector();
    for (let n = 0; n < 3; n += 1) await deliverPushes(database(), T + n, send);
    expect(sent).toHaveLength(2);
    expect(new Set(sent.map(({ sealedAddress }) => sealedAddress)).size).toBe(2);
    expect(pushes().map(({ sentAt }) => sentAt)).toEqual([T, T, T, T]);
    let mails = 0;
    await deliverNotices(database(), T, async () => { mails += 1; });
    expect(mails).toBe(1);
  });

  it("is not made for a code or an invitation, nor for a phone that came later", async () => {
    await reach(mother);
    for (const kind of ["sign-in-code", "invitation"] as const) add(kind);
    expect(pushes()).toEqual([]);
    add("answer");
    await reach(mother);
    expect(pushes()).toHaveLength(1);
  });

  it("follows what was chosen for phones, and mail what was chosen for mail", async () => {
    const asked = async (mail: boolean, push: boolean) => {
      const on = (is: boolean) => ({ news: is, reminders: is });
      await choose(await grant(mother, "notices.choose", null), { isOn: { mail: on(mail), push: on(push) }, quiet: null, timeZone: null }, T);
      const key = `${mail} ${push}`;
      add("answer", key);
      add("photo-reminder", `${key} r`);
      const { sent, send } = collector();
      let mails = 0;
      await deliverPushes(database(), T, send);
      await deliverNotices(database(), T, async () => { mails += 1; });
      return [mails, sent.length];
    };
    await reach(mother);
    expect(await asked(true, true)).toEqual([1, 1]);
    expect(await asked(false, true)).toEqual([0, 1]);
    expect(await asked(true, false)).toEqual([1, 0]);
    expect(await asked(false, false)).toEqual([0, 0]);
    add("stop-placed");
    const { sent, send } = collector();
    await deliverPushes(database(), T, send);
    expect(sent).toHaveLength(1);
  });

  it("waits for the end of quiet hours in the person's own zone, and a stop does not", async () => {
    // 22:05 in Kathmandu (UTC+5:45); quiet until 07:00 there, which is 01:15 UTC.
    await choose(await grant(mother, "notices.choose", null), { isOn: { mail: { news: true, reminders: true }, push: { news: true, reminders: true } }, quiet: { from: 1260, until: 420 }, timeZone: "Asia/Kathmandu" }, T);
    await reach(mother);
    add("answer");
    const { sent, send } = collector();
    await deliverPushes(database(), T, send);
    const end = Date.UTC(2026, 2, 4, 1, 15);
    await deliverPushes(database(), end - 1, send);
    expect(sent).toEqual([]);
    expect(pushes()[0]?.nextTryAt).toBe(end);
    add("stop-placed");
    await deliverPushes(database(), T + 1, send);
    expect(sent.map(({ urgency }) => urgency)).toEqual(["high"]);
    await deliverPushes(database(), end, send);
    expect(sent.map(({ urgency }) => urgency)).toEqual(["high", "normal"]);
  });

  it("is tried again later and later while its service is busy, and as late as it asks", async () => {
    await reach(mother);
    add("answer");
    let after = 0;
    const { send } = collector(() => new PushRefused("429", false, after));
    await deliverPushes(database(), T, send);
    expect(pushes()[0]).toMatchObject({ tries: 1, nextTryAt: T + 15_000 });
    after = HOUR;
    await deliverPushes(database(), T + 15_000, send);
    expect(pushes()[0]).toMatchObject({ tries: 2, nextTryAt: T + 15_000 + HOUR });
    for (let n = 0; n < 14; n += 1) await deliverPushes(database(), pushes()[0]?.nextTryAt ?? 0, send);
    expect(pushes()[0]).toMatchObject({ tries: 16, sentAt: null, gaveUpAt: expect.any(Number) });
    expect(await phones(mother)).toHaveLength(1);
  });

  it.each([404, 410])("and its phone are forgotten when the service answers %i, and no other phone is", async (status) => {
    const gone = await reach(mother, { endpoint: "https://updates.push.services.mozilla.com/wpush/v2/gone" });
    const stays = await reach(mother);
    add("answer", "a");
    add("stop-placed", "b");
    const hosts: string[] = [];
    const tried = await deliverPushes(database(), T, (push) => sendPush(push, async ({ endpoint }) => {
      hosts.push(endpoint.hostname);
      return { status: endpoint.hostname.endsWith("mozilla.com") ? status : 201, afterMs: 0 };
    }));
    expect(tried).toEqual({ sent: 1, failed: 0, gaveUp: 1 });
    expect(hosts).toHaveLength(2);
    expect(await phones(mother)).toEqual([stays]);
    expect(pushes().filter(({ phoneId }) => phoneId === gone)).toEqual([]);
  });

  it("that is never answered holds back neither mail nor another phone", async () => {
    const slow = await reach(mother);
    await reach({ ...mother, personId: "father" });
    add("answer", "a");
    add("answer", "b", "father");
    const sealedSlow = database().select().from(pushPhones).where(eq(pushPhones.id, slow)).get()?.sealedAddress;
    let release = (): void => {};
    const hanging = new Promise<void>((resolve) => { release = resolve; });
    const sent: string[] = [];
    const all = deliverPushes(database(), T, async ({ sealedAddress }) => {
      if (sealedAddress === sealedSlow) await hanging;
      sent.push(sealedAddress);
    });
    let mails = 0;
    await deliverNotices(database(), T, async () => { mails += 1; });
    expect([mails, sent.length]).toEqual([2, 1]);
    release();
    expect(await all).toEqual({ sent: 2, failed: 0, gaveUp: 0 });
  });

  it("never writes down where it goes: not in the clear, not in the log", async () => {
    await reach(mother, { endpoint: "https://fcm.googleapis.com/fcm/send/needle-in-the-hay" });
    add("answer");
    const lines: string[] = [];
    const write = process.stderr.write.bind(process.stderr);
    process.stderr.write = ((line: string) => lines.push(line) > 0) as typeof process.stderr.write; // back below
    await deliverPushes(database(), T, async () => { throw Object.assign(new Error("https://fcm.googleapis.com/fcm/send/needle-in-the-hay"), { code: "ECONNREFUSED" }); });
    process.stderr.write = write;
    expect(lines.map((line) => JSON.parse(line) as unknown)).toEqual([expect.objectContaining({ event: "notice-failed", kind: "answer", code: "ECONNREFUSED" })]);
    database().$client.pragma("wal_checkpoint(TRUNCATE)");
    for (const text of [lines.join(""), readFileSync(join(world.dir, "trueside.db")).toString("latin1"), JSON.stringify(database().select().from(auditEntries).all())]) expect(text).not.toContain("needle-in-the-hay");
  });
});

describe("whose phone it is", () => {
  it("is said by its owner alone, listed to them, and ended by one press, or all at once", async () => {
    const [one, two] = [await reach(mother), await reach(mother)];
    const other = await reach(therapist);
    expect(await phones(mother)).toEqual([one, two].sort());
    await endPhone(await grant(mother, "notices.choose", null), other, T);
    expect(await phones(therapist)).toEqual([other]);
    await endPhone(await grant(mother, "notices.choose", null), one, T);
    expect(await phones(mother)).toEqual([two]);
    await endPhone(await grant(mother, "notices.choose", null), "all", T);
    expect([await phones(mother), await phones(therapist)]).toEqual([[], [other]]);
  });

  it("is the last one's who said so there: the one before gets nothing there any more, and what waited for them is gone", async () => {
    const endpoint = "https://fcm.googleapis.com/fcm/send/one-browser";
    await reach(mother, { endpoint });
    add("answer");
    const now = await reach(therapist, { endpoint });
    expect([await phones(mother), await phones(therapist)]).toEqual([[], [now]]);
    expect(pushes()).toEqual([]);
  });

  it("is known once, though its browser got itself a new address; of another person's it renews nothing", async () => {
    const first = await reach(mother);
    const renewed = await reach(mother, { before: first, isRenewal: true });
    expect(await phones(mother)).toEqual([renewed]);
    expect(await reach(therapist, { before: renewed, isRenewal: true })).toBe("stale-version");
    expect(await reach(mother, { before: first, isRenewal: true })).toBe("stale-version");
    expect(await phones(mother)).toEqual([renewed]);
  });

  it(`is one of ${MOST_PHONES} at most; the same one said again is not one more`, async () => {
    const endpoint = "https://fcm.googleapis.com/fcm/send/first";
    await reach(mother, { endpoint });
    for (let n = 1; n < MOST_PHONES; n += 1) await reach(mother);
    expect(await reach(mother)).toBe("push-too-many");
    expect(await phones(mother)).toHaveLength(MOST_PHONES);
    expect(await reach(mother, { endpoint })).not.toBe("push-too-many");
    expect(await phones(mother)).toHaveLength(MOST_PHONES);
  });

  it("ends with access: of a carer with the last child, of staff when they are disabled, and comes back by no way but their own", async () => {
    await reach({ ...mother, personId: "father" });
    await reach(mother);
    add("answer", "a", "father");
    await endCare(await grant(lead, "family.invite", "family-a"), { personId: "father", careOf: "child-1", isLastMeant: false }, T);
    expect(database().select().from(pushPhones).all().map(({ personId }) => personId)).toEqual(["mother"]);
    expect(pushes()).toEqual([]);
    await reach(therapist);
    await disablePerson(await grant(lead, "staff.manage", null), "therapist", T);
    await enablePerson(await grant(lead, "staff.manage", null), "therapist", T);
    expect(await phones(therapist)).toEqual([]);
  });
});

describe("where a push may go", () => {
  it("is a known push service over TLS, by its name", async () => {
    for (const host of PUSH_HOSTS) expect(endpointOf(`https://a.${host}/x?y=z`)?.hostname).toBe(`a.${host}`);
    const wrong = [
      "http://fcm.googleapis.com/x", "https://fcm.googleapis.com:8443/x", "https://user@fcm.googleapis.com/x", "https://fcm.googleapis.com/x#y", "https://fcm.googleapis.com.evil.example/x",
      "https://evil-fcm.googleapis.com.example/x", "https://xfcm.googleapis.com/x", "https://127.0.0.1/x", "https://[::1]/x", "https://2130706433/x", "https://localhost/x", "https://169.254.169.254/latest",
      "https://practice.internal/x", "ftp://fcm.googleapis.com/x", "fcm.googleapis.com/x", "//fcm.googleapis.com/x", "", "javascript:alert(1)", `https://fcm.googleapis.com/${"x".repeat(2_000)}`,
    ];
    for (const endpoint of wrong) {
      expect(endpointOf(endpoint), endpoint).toBeNull();
      if (endpoint) expect(await reach(mother, { endpoint }), endpoint).toBe("push-unknown");
    }
    expect(database().select().from(pushPhones).all()).toEqual([]);
  });

  it("has a key that lies on the curve", async () => {
    const { auth } = keysOf(newReceiver());
    const address = { ...addressOf("x"), p256dh: Buffer.concat([Buffer.from([4]), Buffer.alloc(64, 7)]).toString("base64url"), auth };
    expect(await addPhone(await grant(mother, "notices.choose", null), { address, device: "other", before: null, isRenewal: false }, T)).toMatchObject({ ok: false, problem: { code: "push-unknown" } });
  });

  it("is an address that anybody could be asked at", () => {
    // IANA IPv4 and IPv6 Special-Purpose Address Registries.
    const own = ["127.0.0.1", "127.9.9.9", "10.1.2.3", "172.16.0.1", "172.31.255.255", "192.168.1.1", "169.254.169.254", "100.64.0.1", "0.0.0.0", "192.0.2.1", "198.18.0.1", "198.51.100.7", "203.0.113.9", "224.0.0.1", "255.255.255.255",
      "::1", "::", "fe80::1", "fc00::1", "fd12::1", "::ffff:10.0.0.1", "::ffff:8.8.8.8", "64:ff9b::a00:1", "2001:db8::1", "2002:a00:1::1", "2001::1", "ff02::1", "3fff::1", "not an address", ""];
    expect(own.filter(isPublicAddress)).toEqual([]);
    expect(["8.8.8.8", "172.15.0.1", "172.32.0.1", "100.63.0.1", "142.250.1.1", "2a00:1450:4001:80b::200a", "2606:4700::1111"].filter((each) => !isPublicAddress(each))).toEqual([]);
  });
});

describe("a push service on the line", () => {
  // A certificate for tests that ships with the mail server these tests use.
  const tls = (createRequire(import.meta.url)("smtp-server/lib/tls-options.js") as (more: object) => { readonly key: string; readonly cert: string })({});
  let server: Server | null = null;
  afterEach(() => new Promise<void>((resolve) => {
    server?.closeAllConnections();
    if (server) server.close(() => resolve());
    else resolve();
    server = null;
  }));

  async function serve(status: number, headers: Record<string, string> = {}): Promise<{ readonly got: { path: string; headers: Record<string, unknown>; body: Buffer }[]; readonly here: Partial<World> }> {
    const got: { path: string; headers: Record<string, unknown>; body: Buffer }[] = [];
    const made = createServer({ key: tls.key, cert: tls.cert }, (request, response) => {
      const parts: Buffer[] = [];
      request.on("data", (part: Buffer) => parts.push(part));
      request.on("end", () => {
        got.push({ path: request.url ?? "", headers: request.headers, body: Buffer.concat(parts) });
        response.writeHead(status, headers).end("x".repeat(1_000_000));
      });
    });
    server = made;
    await new Promise<void>((resolve) => { made.listen(0, "127.0.0.1", resolve); });
    const { port } = made.address() as AddressInfo; // it listens on a port
    return { got, here: { find: async () => [{ address: "127.0.0.1", family: 4 }], isPublic: () => true, port, rejectUnauthorized: false } };
  }

  async function pushOnce(here: Partial<World>, receiver = newReceiver()) {
    await reach(mother, { receiver });
    add("answer", `answer-${nth}`);
    return deliverPushes(database(), T, (push) => sendPush(push, pushServiceIn(here)));
  }

  it("gets one POST whose body its browser can open", async () => {
    const { got, here } = await serve(201);
    const receiver = newReceiver();
    expect(await pushOnce(here, receiver)).toEqual({ sent: 1, failed: 0, gaveUp: 0 });
    expect(got).toHaveLength(1);
    expect(got[0]?.path).toMatch(/^\/fcm\/send\/phone-\d+$/);
    expect(got[0]?.headers).toMatchObject({ host: expect.stringMatching(/^fcm\.googleapis\.com/), ttl: "86400", urgency: "normal", topic: "normal", "content-encoding": "aes128gcm" });
    expect(JSON.parse(opened(got[0]?.body ?? Buffer.alloc(0), receiver))).toMatchObject({ to: "/family" });
  });

  it("is not followed elsewhere, and is left alone as long as it asks", async () => {
    const { got, here } = await serve(307, { Location: "/elsewhere" });
    expect(await pushOnce(here)).toEqual({ sent: 0, failed: 1, gaveUp: 0 });
    expect(got.map(({ path }) => path).filter((path) => path === "/elsewhere")).toEqual([]);
    expect(got).toHaveLength(1);
    await new Promise<void>((resolve) => { server?.close(() => resolve()); server?.closeAllConnections(); });
    const busy = await serve(429, { "Retry-After": "600" });
    const [row] = pushes();
    await deliverPushes(database(), row?.nextTryAt ?? 0, (push) => sendPush(push, pushServiceIn(busy.here)));
    expect(pushes()[0]?.nextTryAt).toBe((row?.nextTryAt ?? 0) + 10 * MINUTE);
  });

  it("is never asked at an address of this machine or network, though its name leads there, nor with a certificate of nobody", async () => {
    const { got, here } = await serve(201);
    const { isPublic: _any, ...checked } = here;
    expect(await pushOnce(checked)).toEqual({ sent: 0, failed: 1, gaveUp: 0 });
    // One public address beside a private one is not enough.
    const asked = { endpoint: new URL("https://fcm.googleapis.com/x"), headers: {}, body: Buffer.from("x") };
    await expect(pushServiceIn({ ...checked, find: async () => [{ address: "8.8.8.8", family: 4 }, { address: "127.0.0.1", family: 4 }] })(asked)).rejects.toMatchObject({ code: "EPRIVATE" });
    await expect(pushServiceIn({ ...checked, find: async () => [] })(asked)).rejects.toMatchObject({ code: "EPRIVATE" });
    await expect(pushServiceIn(here)({ ...asked, endpoint: new URL("https://127.0.0.1/x") })).rejects.toMatchObject({ code: "EPRIVATE" });
    const { rejectUnauthorized: _lax, ...strict } = here;
    await expect(pushServiceIn(strict)(asked)).rejects.toMatchObject({ code: expect.stringMatching(/CERT|SELF_SIGNED|ALTNAME/) });
    expect(got).toEqual([]);
  });
});

describe("the key that signs pushes", () => {
  it("is made once, also in a folder older than it, for this account alone, and refused when it is damaged", () => {
    const { pushKey } = openSecrets(world.dir);
    const file = join(world.dir, "keys", "pushKey");
    expect(openSecrets(world.dir).pushKey).toEqual(pushKey);
    expect(statSync(file).mode & 0o777).toBe(0o600);
    const { mediaKey } = openSecrets(world.dir);
    rmSync(file);
    const made = openSecrets(world.dir);
    expect(made.pushKey).not.toEqual(pushKey);
    expect(made.mediaKey).toEqual(mediaKey);
    expect(existsSync(file)).toBe(true);
    writeFileSync(file, "short");
    expect(() => openSecrets(world.dir)).toThrow(/incomplete or damaged/);
  });
});

describe("what a phone is called", () => {
  it("is its kind alone", () => {
    // Forms from memory of what browsers send.
    const SENT: readonly (readonly [string, string])[] = [
      ["Mozilla/5.0 (Linux; Android 10; K) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/130.0.0.0 Mobile Safari/537.36", "android"],
      ["Mozilla/5.0 (iPhone; CPU iPhone OS 17_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/17.5 Mobile/15E148 Safari/604.1", "iphone"],
      ["Mozilla/5.0 (Windows NT 10.0; Win64; x64; rv:131.0) Gecko/20100101 Firefox/131.0", "windows"],
      ["Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/17.6 Safari/605.1.15", "mac"],
      ["Mozilla/5.0 (X11; Linux x86_64; rv:131.0) Gecko/20100101 Firefox/131.0", "linux"], ["walk", "other"], ["", "other"],
    ];
    for (const [sent, device] of SENT) expect(deviceOf(sent), sent).toBe(device);
  });
});
