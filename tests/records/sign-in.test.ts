import { randomUUID } from "node:crypto";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { auditEntries, notices } from "@/db/schema/machinery";
import { people } from "@/db/schema/practice";
import { sessions, signInCodes, signInFailures } from "@/db/schema/sign-in";
import { normalisedAddress } from "@/lib/access/address";
import { ownPath } from "@/lib/access/asked";
import { keyedHash, seal, unseal } from "@/lib/access/sealed";
import { actorOf, endSessionRow, openSession } from "@/lib/access/session-row";
import { askForCode, redeemCode, redeemLink } from "@/lib/access/sign-in-code";
import { deliverNotices } from "@/lib/notices/outbox";
import type { Mail } from "@/lib/notices/compose";
import { addPerson, makeWorld } from "@/tests/records/world";

const T = Date.UTC(2026, 2, 3, 16, 20);
const [SECOND, MINUTE, HOUR, DAY] = [1000, 60_000, 3_600_000, 86_400_000];
const MOTHER = "mother@people.example";

let world: ReturnType<typeof makeWorld>;
beforeEach(() => {
  world = makeWorld();
  addPerson("mother", "guardian");
  addPerson("therapist", "therapist");
});
afterEach(() => world.close());

/** Each from a network of its own, so that only the tests about networks meet their limit. */
const ask = (address: string, now: number, network: string = randomUUID()) => askForCode(address, network, now);

/** Every mail that leaves now. */
async function mailed(now: number): Promise<readonly Mail[]> {
  const sent: Mail[] = [];
  await deliverNotices(database(), now, async (mail) => void sent.push(mail));
  return sent;
}

async function codeFor(address: string, now: number): Promise<{ readonly code: string; readonly key: string }> {
  ask(address, now);
  const [mail] = await mailed(now);
  return { code: /\b(\d{8})\b/.exec(mail?.text ?? "")?.[1] ?? "none", key: /key=([\w-]+)/.exec(mail?.text ?? "")?.[1] ?? "none" };
}

const codeOf = (result: { readonly ok: boolean; readonly problem?: { readonly code: string } }): string => (result.ok ? "ok" : result.problem?.code ?? "?");
const WRONG = (code: string): string => String((Number(code) + 1) % 100_000_000).padStart(8, "0");

describe("a mailed code", () => {
  it("signs its person in once, spaces and all", async () => {
    const { code } = await codeFor(MOTHER, T);
    expect(redeemCode(MOTHER, ` ${code.slice(0, 4)} ${code.slice(4)} `, T)).toEqual({ ok: true, value: { personId: "mother" } });
    expect(codeOf(redeemCode(MOTHER, code, T))).toBe("code-wrong");
  });

  it("works at 9:59 and not at 10:00 or 10:01", async () => {
    const early = await codeFor(MOTHER, T);
    expect(codeOf(redeemCode(MOTHER, early.code, T + 10 * MINUTE - SECOND))).toBe("ok");
    const late = await codeFor(MOTHER, T + HOUR);
    expect(codeOf(redeemCode(MOTHER, late.code, T + HOUR + 10 * MINUTE))).toBe("code-expired");
    expect(codeOf(redeemCode(MOTHER, late.code, T + HOUR + 10 * MINUTE + SECOND))).toBe("code-expired");
  });

  it("dies after five wrong tries, and the right one comes too late", async () => {
    const { code } = await codeFor(MOTHER, T);
    for (let n = 0; n < 5; n += 1) expect(codeOf(redeemCode(MOTHER, WRONG(code), T))).toBe("code-wrong");
    expect(codeOf(redeemCode(MOTHER, code, T))).toBe("code-used-up");
  });

  it("counts tries that come together", async () => {
    const { code } = await codeFor(MOTHER, T);
    const tries = await Promise.all(Array.from({ length: 50 }, async (_, n) => codeOf(redeemCode(MOTHER, n < 49 ? WRONG(code) : code, T))));
    expect(tries.filter((each) => each === "code-wrong")).toHaveLength(5);
    expect(tries.filter((each) => each === "code-used-up")).toHaveLength(45);
  });

  it("is the newest only, and so is its link", async () => {
    const old = await codeFor(MOTHER, T);
    const fresh = await codeFor(MOTHER, T + MINUTE);
    expect(codeOf(redeemCode(MOTHER, old.code, T + MINUTE))).toBe("code-wrong");
    expect(codeOf(redeemLink(MOTHER, old.key, T + MINUTE))).toBe("link-spent");
    expect(codeOf(redeemCode(MOTHER, fresh.code, T + MINUTE))).toBe("ok");
    expect(codeOf(redeemLink(MOTHER, fresh.key, T + MINUTE))).toBe("link-spent");
  });

  it("belongs to its own address", async () => {
    addPerson("father", "guardian");
    const { code, key } = await codeFor(MOTHER, T);
    expect(codeOf(redeemCode("father@people.example", code, T))).toBe("code-wrong");
    expect(codeOf(redeemLink("father@people.example", key, T))).toBe("link-spent");
    expect(codeOf(redeemLink(MOTHER, key, T))).toBe("ok");
  });

  it("rests as a hash: neither code nor link is in the database, its log or the audit", async () => {
    ask(MOTHER, T);
    const sealed = database().select({ values: notices.sealedValues }).from(notices).get()?.values ?? "";
    const { code, key } = JSON.parse(unseal("notice", sealed) ?? "{}") as { code: string; key: string };
    expect(code).toMatch(/^\d{8}$/);
    const files = () => ["trueside.db", "trueside.db-wal"].map((name) => readFileSync(join(world.dir, name), "latin1")).join("");
    expect(files()).toContain(sealed);
    for (const secret of [code, key]) expect(files()).not.toContain(secret);
    await mailed(T);
    expect(database().select().from(notices).get()).toMatchObject({ sealedValues: null, sentAt: T });
  });
});

describe("wrong codes in a row", () => {
  /** Wrong codes as fast as the limits on mail and tries allow; gives what became of each, and when the last was. */
  async function guess(address: string, most: number): Promise<{ readonly answers: readonly string[]; readonly at: number }> {
    const answers: string[] = [];
    let at = T;
    for (; answers.length < most; at += 16 * MINUTE) {
      ask(address, at);
      const [mail] = await mailed(at);
      const wrong = WRONG(/\b(\d{8})\b/.exec(mail?.text ?? "")?.[1] ?? "00000000");
      for (let n = 0; n < 5 && answers.length < most; n += 1) answers.push(codeOf(redeemCode(address, wrong, at)));
    }
    return { answers, at };
  }
  const tried = (answers: readonly string[]) => answers.filter((each) => each === "code-wrong").length;

  // NIST SP 800-63B-4, 3.2.2: no more than 100 consecutive failures for one account.
  it("are a hundred at most, for an address somebody has and for one nobody has alike", async () => {
    // Ten mails a day with five tries each make fifty a day, so the third day is past the limit.
    const known = await guess(MOTHER, 1000);
    expect(tried(known.answers)).toBe(100);
    expect(known.answers).toContain("code-closed");
    expect((await guess("nobody@people.example", 1000)).answers).toEqual(known.answers);
    expect(codeOf(redeemCode(MOTHER, (await codeFor(MOTHER, known.at + DAY)).code, known.at + DAY))).toBe("code-closed");
  });

  it("leave the link good, and it opens the codes again", async () => {
    const { at } = await guess(MOTHER, 1000);
    const { key } = await codeFor(MOTHER, at + DAY);
    expect(codeOf(redeemLink(MOTHER, key, at + DAY))).toBe("ok");
    expect(codeOf(redeemCode(MOTHER, (await codeFor(MOTHER, at + 2 * DAY)).code, at + 2 * DAY))).toBe("ok");
  });

  it("are counted anew after a right one", async () => {
    await guess(MOTHER, 20);
    expect(database().select().from(signInFailures).all()).toMatchObject([{ failures: 20 }]);
    const { code } = await codeFor(MOTHER, T + DAY);
    expect(codeOf(redeemCode(MOTHER, code, T + DAY))).toBe("ok");
    expect(database().select().from(signInFailures).all()).toEqual([]);
  });
});

describe("an address nobody has", () => {
  it("gets the same answers as one we know, and no mail", async () => {
    ask("nobody@people.example", T);
    expect(await mailed(T)).toEqual([]);
    const known = await codeFor(MOTHER, T);
    const answers = (address: string, wrong: string) => Array.from({ length: 6 }, () => codeOf(redeemCode(address, wrong, T)));
    expect(answers("nobody@people.example", WRONG(known.code))).toEqual(answers(MOTHER, WRONG(known.code)));
    expect(database().select({ personId: signInCodes.personId }).from(signInCodes).all()).toContainEqual({ personId: null });
  });

  it("takes the same time: medians of 200 requests differ by under 20 ms", () => {
    const median = (address: (n: number) => string): number => {
      const times = Array.from({ length: 200 }, (_, n) => {
        const began = performance.now();
        ask(address(n), T + n);
        return performance.now() - began;
      }).sort((a, b) => a - b);
      return times[100] ?? Number.NaN;
    };
    for (let n = 0; n < 200; n += 1) addPerson(`p${n}`, "guardian");
    expect(Math.abs(median((n) => `p${n}@people.example`) - median((n) => `q${n}@people.example`))).toBeLessThan(20);
  });

  it("a disabled person's is one of them", async () => {
    database().update(people).set({ disabledAt: T }).where(eq(people.id, "mother")).run();
    ask(MOTHER, T);
    expect(await mailed(T)).toEqual([]);
  });
});

describe("how many mails one address gets", () => {
  it("three in a quarter of an hour, and the last one stays good", async () => {
    for (const n of [0, 1]) ask(MOTHER, T + n * MINUTE);
    await mailed(T + MINUTE);
    const last = await codeFor(MOTHER, T + 2 * MINUTE);
    ask(MOTHER, T + 3 * MINUTE);
    expect(await mailed(T + 3 * MINUTE)).toEqual([]);
    expect(codeOf(redeemCode(MOTHER, last.code, T + 3 * MINUTE))).toBe("ok");
    expect(await codeFor(MOTHER, T + 16 * MINUTE)).toMatchObject({ code: expect.stringMatching(/^\d{8}$/) });
  });

  it("ten a day", async () => {
    let mails = 0;
    for (let n = 0; n < 40; n += 1) {
      ask(MOTHER, T + n * 16 * MINUTE);
      mails += (await mailed(T + n * 16 * MINUTE)).length;
    }
    expect(mails).toBe(10);
  });
});

describe("how many codes one network asks for", () => {
  const HOME = "198.51.100.7";
  const asks = (many: number, from: number, now: number, network = HOME) =>
    Array.from({ length: many }, (_, n) => codeOf(ask(`p${from + n}@people.example`, now + n, network)));

  it("twenty an hour, somebody's or nobody's, and then it is told so; another network is not", async () => {
    for (let n = 0; n < 10; n += 1) addPerson(`p${n}`, "guardian");
    expect(asks(20, 0, T)).toEqual(Array.from({ length: 20 }, () => "ok"));
    expect((await mailed(T + MINUTE)).length).toBe(10);
    for (const address of [MOTHER, "p3@people.example", "nobody@people.example"]) expect(codeOf(ask(address, T + MINUTE, HOME))).toBe("codes-asked-often");
    expect(await mailed(T + MINUTE)).toEqual([]);
    expect(codeOf(ask(MOTHER, T + MINUTE, "198.51.100.8"))).toBe("ok");
    expect((await mailed(T + MINUTE)).map(({ to }) => to)).toEqual([MOTHER]);
  });

  it("an hour later as many again", () => {
    asks(20, 0, T);
    expect(asks(1, 30, T + HOUR - SECOND)).toEqual(["codes-asked-often"]);
    expect(asks(20, 40, T + HOUR + MINUTE)).toEqual(Array.from({ length: 20 }, () => "ok"));
  });

  it("is counted by a keyed hash that is gone after an hour, and the address itself is nowhere", () => {
    asks(1, 0, T);
    const hashes = () => database().select({ hash: signInCodes.networkHash }).from(signInCodes).all().map(({ hash }) => hash);
    expect(hashes()).toEqual([keyedHash("network", HOME)]);
    expect(keyedHash("network", HOME)).not.toBe(keyedHash("address", HOME));
    for (const name of ["trueside.db", "trueside.db-wal"]) expect(readFileSync(join(world.dir, name), "latin1")).not.toContain(HOME);
    asks(1, 1, T + HOUR, "203.0.113.9");
    expect(hashes().filter((hash) => hash === keyedHash("network", HOME))).toEqual([]);
  });
});

/** Attack cases of the address rule; shapes after CVE-2026-73420 and nodemailer's misdelivery, values ours. */
describe("an address", () => {
  it.each([
    `"mother@people.example"@evil.example`, "mother@people.example,thief@evil.example", "mother@people.example@evil.example",
    "mother＠people.example@evil.example", "mother@people.example\r\nBcc: thief@evil.example", "mother@people.example\nthief@evil.example",
    "Mother <mother@people.example>", "mother@people.example;thief@evil.example", "mother@people.example thief@evil.example",
    "mother@evil.example(mother@people.example)", "mother@[127.0.0.1]", "mother@localhost", "mother@", "@people.example", "",
    "mother\u0000@people.example", "mother\u200B@people.example", `${"m".repeat(250)}@people.example`, "'mother'@people.example",
  ])("refuses %j", (typed) => {
    expect(normalisedAddress(typed)).toBeNull();
  });

  it.each([
    ["  Mother@People.Example ", "mother@people.example"], ["mother＠people.example", "mother@people.example"],
    ["ｍother@people.example", "mother@people.example"], ["mo.ther+app@people.example", "mo.ther+app@people.example"],
  ])("reads %j as %s", (typed, address) => {
    expect(normalisedAddress(typed)).toBe(address);
  });

  it("is never where mail goes: the stored one is", async () => {
    ask(normalisedAddress(" MOTHER＠people.example ") ?? "", T);
    expect((await mailed(T)).map(({ to }) => to)).toEqual([MOTHER]);
  });
});

describe("a session", () => {
  const open = (personId: string, provedAt: number | null, replaces: string | null = null, now = T) =>
    database().transaction((tx) => openSession(tx, { personId, provedAt, replaces }, now));

  it("belongs to its person, with a hash for its name and no token at rest", () => {
    const token = open("mother", null)?.token ?? "";
    const actor = actorOf(token, T);
    expect(actor).toMatchObject({ personId: "mother", role: "guardian", practiceId: "practice", timeZone: "Europe/London" });
    expect(actor?.sessionId).not.toContain(token);
    expect(JSON.stringify([database().select().from(sessions).all(), database().select().from(auditEntries).all()])).not.toContain(token);
    expect(actorOf(`${token}x`, T)).toBeNull();
    expect(actorOf("", T)).toBeNull();
  });

  it("is new at every sign-in, and the one the browser brought ends", () => {
    const before = open("mother", null)?.token ?? "";
    const after = open("mother", null, before)?.token ?? "";
    expect(after).not.toBe(before);
    expect(actorOf(before, T)).toBeNull();
    expect(actorOf(after, T)?.personId).toBe("mother");
  });

  it("ends at sign-out, whoever copied the cookie", () => {
    const token = open("mother", null)?.token ?? "";
    database().transaction((tx) => endSessionRow(tx, token, T));
    expect(actorOf(token, T)).toBeNull();
    expect(database().select({ act: auditEntries.act }).from(auditEntries).all().map(({ act }) => act)).toEqual(["signed-in", "signed-out"]);
  });

  it("ends with the person's access, on the next request", () => {
    const token = open("therapist", T)?.token ?? "";
    expect(actorOf(token, T)?.role).toBe("therapist");
    database().update(people).set({ disabledAt: T }).where(eq(people.id, "therapist")).run();
    expect(actorOf(token, T)).toBeNull();
    expect(open("therapist", T)).toBeNull();
  });

  it("takes the role of this moment, and staff from no session without a second factor", () => {
    const token = open("mother", null)?.token ?? "";
    database().update(people).set({ role: "young-person" }).where(eq(people.id, "mother")).run();
    expect(actorOf(token, T)?.role).toBe("young-person");
    database().update(people).set({ role: "therapist" }).where(eq(people.id, "mother")).run();
    expect(actorOf(token, T)).toBeNull();
    expect(open("therapist", null)).toBeNull();
  });

  it.each([
    ["mother", null, 30 * DAY, 90 * DAY],
    ["therapist", T, HOUR, DAY],
  ] as const)("of %s lives as long as the rule says, used or not", (who, provedAt, idle, whole) => {
    const idleOne = open(who, provedAt)?.token ?? "";
    expect(actorOf(idleOne, T + idle - SECOND)?.personId).toBe(who);
    const other = open(who, provedAt)?.token ?? "";
    expect(actorOf(other, T + idle)).toBeNull();
    const used = open(who, provedAt)?.token ?? "";
    for (let at = T; at < T + whole; at += idle / 2) expect(actorOf(used, at)?.personId).toBe(who);
    expect(actorOf(used, T + whole - SECOND)?.personId).toBe(who);
    expect(actorOf(used, T + whole)).toBeNull();
  });
});

describe("what is sealed", () => {
  it("opens for its purpose only, and not when changed", () => {
    const sealed = seal("totp", "secret");
    expect(unseal("totp", sealed)).toBe("secret");
    expect(unseal("asked", sealed)).toBeNull();
    expect(unseal("totp", `${sealed.slice(0, -2)}${sealed.endsWith("AA") ? "BB" : "AA"}`)).toBeNull();
    expect(unseal("totp", "")).toBeNull();
    expect(seal("totp", "secret")).not.toBe(sealed);
  });
});

describe("where a sign-in leads", () => {
  it.each(["//evil.example", "/\\evil.example", "https://evil.example", "/family/../../x", "/family//evil.example", "/family?x=//e", "/sign-out", "/family\n", "javascript:1", "/desk/%2e%2e", "", "/familyx"])("never to %j", (path) => {
    expect(ownPath(path)).toBe("/");
  });
  it.each(["/family", "/desk/children/5f1c-a", "/family/consent/abc"])("but to %s", (path) => {
    expect(ownPath(path)).toBe(path);
  });
});
