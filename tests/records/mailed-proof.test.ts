import { randomUUID } from "node:crypto";
import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { auditEntries, notices } from "@/db/schema/machinery";
import { people } from "@/db/schema/practice";
import { sessions } from "@/db/schema/sign-in";
import { grant } from "@/lib/access/grant";
import { actorOf, openSession } from "@/lib/access/session-row";
import { askForCode, redeemCode, redeemLink } from "@/lib/access/sign-in-code";
import { isProofEnough, isProofFresh } from "@/lib/domain/policy/policy";
import type { Mail } from "@/lib/notices/compose";
import { deliverNotices } from "@/lib/notices/outbox";
import { askForProof, proofAsked, showProof } from "@/lib/records/mailed-proof";
import { addPerson, makeWorld } from "@/tests/records/world";

const T = Date.UTC(2026, 2, 3, 16, 20);
const [SECOND, MINUTE, DAY] = [1000, 60_000, 86_400_000];
const MOTHER = "mother@people.example";

let world: ReturnType<typeof makeWorld>;
beforeEach(() => {
  world = makeWorld();
  addPerson("mother", "guardian");
  addPerson("father", "guardian");
  addPerson("therapist", "therapist");
});
afterEach(() => world.close());

const session = (personId: string, now = T): string => database().transaction((tx) => openSession(tx, { personId, provedAt: null, replaces: null }, now))?.token ?? "none";
function actor(token: string, now = T) {
  const found = actorOf(token, now);
  if (!found) throw new Error("signed out");
  return found;
}
const own = async (token: string, now = T) => grant(actor(token, now), "mail-proof.show", null);
const codeOf = (result: { readonly ok: boolean; readonly problem?: { readonly code: string } }): string => (result.ok ? "ok" : result.problem?.code ?? "?");
const wrong = (code: string): string => String((Number(code) + 1) % 100_000_000).padStart(8, "0");

async function mailed(now: number): Promise<readonly Mail[]> {
  const sent: Mail[] = [];
  await deliverNotices(database(), now, async (mail) => void sent.push(mail));
  return sent;
}
const digits = (mail: Mail | undefined): string => /\b(\d{8})\b/.exec(mail?.text ?? "")?.[1] ?? "none";

async function asked(token: string, now = T): Promise<string> {
  expect(codeOf(await askForProof(await own(token, now), now))).toBe("ok");
  return digits((await mailed(now))[0]);
}

describe("showing by mail that it is you", () => {
  it("counts ten minutes, in the session that asked and in no other", async () => {
    const [here, elsewhere] = [session("mother"), session("mother")];
    const code = await asked(here);
    expect(actor(here).provedAt).toBeNull();
    expect(codeOf(await showProof(await own(here), ` ${code.slice(0, 4)} ${code.slice(4)} `, T + MINUTE))).toBe("ok");
    const { provedAt } = actor(here, T + MINUTE);
    expect(provedAt).toBe(T + MINUTE);
    expect([10 * MINUTE, 10 * MINUTE + 1].map((after) => isProofFresh(provedAt, T + MINUTE + after))).toEqual([true, false]);
    expect(isProofEnough(null, "practice.settings", T)).toBe(false);
    expect(actor(elsewhere, T + MINUTE).provedAt).toBeNull();
    expect(codeOf(await showProof(await own(here), code, T + MINUTE))).toBe("code-wrong");
  });

  it("is worth nothing in another session of the same person, nor in another person's", async () => {
    const [here, elsewhere, father] = [session("mother"), session("mother"), session("father")];
    const code = await asked(here);
    expect(codeOf(await showProof(await own(elsewhere), code, T))).toBe("code-wrong");
    expect(codeOf(await showProof(await own(father), code, T))).toBe("code-wrong");
    expect([here, elsewhere, father].map((token) => actor(token).provedAt)).toEqual([null, null, null]);
  });

  it("takes no sign-in code, and its own signs nobody in", async () => {
    const here = session("mother");
    const proof = await asked(here);
    expect(codeOf(redeemCode(MOTHER, proof, T))).toBe("code-wrong");
    askForCode(MOTHER, randomUUID(), T);
    const signIn = (await mailed(T))[0];
    expect(codeOf(await showProof(await own(here), digits(signIn), T))).toBe("code-wrong");
    expect(codeOf(redeemCode(MOTHER, digits(signIn), T))).toBe("ok");
    expect(codeOf(redeemLink(MOTHER, /key=([\w-]+)/.exec(signIn?.text ?? "")?.[1] ?? "", T))).toBe("link-spent");
    // Signing in by mail is no proof either: an open session of three months ago was signed in so too.
    expect(actor(session("mother")).provedAt).toBeNull();
    expect(codeOf(await showProof(await own(here), proof, T))).toBe("ok");
  });

  it("works at 9:59 and not at 10:00, and only the newest code does", async () => {
    const here = session("mother");
    const early = await asked(here);
    expect(await proofAsked(await own(here), T)).toBe(T + 10 * MINUTE);
    expect(codeOf(await showProof(await own(here), early, T + 10 * MINUTE))).toBe("code-expired");
    expect(await proofAsked(await own(here), T + 10 * MINUTE)).toBeNull();
    expect(codeOf(await showProof(await own(here), early, T + 10 * MINUTE - SECOND))).toBe("ok");
    const [first, second] = [await asked(here, T + MINUTE), await asked(here, T + MINUTE)];
    expect(codeOf(await showProof(await own(here), first, T + MINUTE))).toBe(first === second ? "ok" : "code-wrong");
    expect(codeOf(await showProof(await own(here), second, T + MINUTE))).toBe("ok");
  });

  it("dies after five wrong tries", async () => {
    const here = session("mother");
    const code = await asked(here);
    for (let n = 0; n < 5; n += 1) expect(codeOf(await showProof(await own(here), wrong(code), T))).toBe("code-wrong");
    expect(codeOf(await showProof(await own(here), code, T))).toBe("code-used-up");
    expect(actor(here).provedAt).toBeNull();
  });

  it("mails three times in a quarter of an hour and ten a day, and takes nothing from signing in", async () => {
    const here = session("mother");
    for (let n = 0; n < 3; n += 1) expect(codeOf(await askForProof(await own(here), T + n))).toBe("ok");
    expect(codeOf(await askForProof(await own(here), T + 10))).toBe("proofs-asked-often");
    askForCode(MOTHER, randomUUID(), T + 10);
    const kinds = database().select({ kind: notices.kind }).from(notices).where(eq(notices.personId, "mother")).all().map(({ kind }) => kind);
    expect(kinds.toSorted()).toEqual(["proof-code", "proof-code", "proof-code", "sign-in-code"]);
    for (let n = 1; n <= 7; n += 1) expect(codeOf(await askForProof(await own(here), T + n * 16 * MINUTE))).toBe("ok");
    expect(codeOf(await askForProof(await own(here), T + 8 * 16 * MINUTE))).toBe("proofs-asked-often");
    expect(codeOf(await askForProof(await own(here), T + DAY + MINUTE))).toBe("ok");
  });

  it("closes after a hundred wrong codes in a row, leaves signing in open, and opens again with it", async () => {
    let here = session("mother");
    let now = T;
    for (let n = 0; n < 20; n += 1, now += 3 * 60 * MINUTE) {
      const code = await asked(here, now);
      for (let k = 0; k < 5; k += 1) await showProof(await own(here, now), wrong(code), now);
    }
    const right = await asked(here, now);
    expect(codeOf(await showProof(await own(here, now), right, now))).toBe("proof-closed");
    askForCode(MOTHER, randomUUID(), now);
    expect(codeOf(redeemCode(MOTHER, digits((await mailed(now))[0]), now))).toBe("ok");
    here = session("mother", now);
    const again = await asked(here, now);
    expect(codeOf(await showProof(await own(here, now), again, now))).toBe("ok");
  });

  it("is no second factor: a guardian made staff is signed out, whatever was typed", async () => {
    const here = session("mother");
    const code = await asked(here);
    await showProof(await own(here), code, T);
    database().update(people).set({ role: "therapist" }).where(eq(people.id, "mother")).run();
    expect(actorOf(here, T)).toBeNull();
    expect(database().select({ provedAt: sessions.provedAt }).from(sessions).all()).toEqual([{ provedAt: null }]);
    await expect(grant({ ...actor(session("father")), role: "therapist" }, "mail-proof.show", null)).rejects.toThrow(/404/);
  });

  it("leaves its mark in the chain and no code anywhere", async () => {
    const here = session("mother");
    const code = await asked(here);
    await showProof(await own(here), wrong(code), T);
    await showProof(await own(here), code, T);
    const noted = database().select({ act: auditEntries.act, outcome: auditEntries.outcome }).from(auditEntries).all().filter(({ act }) => act === "mail-proof.shown");
    expect(noted.map(({ outcome }) => outcome)).toEqual(["refused", "done"]);
    const all = JSON.stringify([database().select().from(auditEntries).all(), database().select().from(notices).all(), database().select().from(sessions).all()]);
    expect(all).not.toContain(code);
  });
});
