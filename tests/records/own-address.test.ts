import { and, eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { auditEntries } from "@/db/schema/machinery";
import { people } from "@/db/schema/practice";
import { invitations } from "@/db/schema/sign-in";
import { grant } from "@/lib/access/grant";
import { actorOf, openSession } from "@/lib/access/session-row";
import { askForCode, redeemCode } from "@/lib/access/sign-in-code";
import { isProofEnough } from "@/lib/domain/policy/policy";
import type { Mail } from "@/lib/notices/compose";
import { deliverNotices } from "@/lib/notices/outbox";
import { askedAddress, askForAddress, ownAddress, takeAddress } from "@/lib/records/own-address";
import { addPerson, makeWorld } from "@/tests/records/world";

// NIST SP 800-63B-4, 4.6: a change is told to the address before; OWASP ASVS 5.0, 6.3.7 and 7.5.1: proved anew, and the new one shown to be theirs.
const T = Date.UTC(2026, 10, 28, 12);
const MINUTE = 60_000;
const OLD = "mother@people.example";
const NEW = "mother@elsewhere.example";

let world: ReturnType<typeof makeWorld>;
beforeEach(() => {
  world = makeWorld();
  addPerson("mother", "guardian");
  addPerson("father", "guardian");
});
afterEach(() => world.close());

const session = (personId: string): string => database().transaction((tx) => openSession(tx, { personId, provedAt: null, replaces: null }, T))?.token ?? "none";
function actor(token: string) {
  const found = actorOf(token, T);
  if (!found) throw new Error("signed out");
  return found;
}
const changing = async (token: string) => grant(actor(token), "address.change", null);
const reading = async (token: string) => grant(actor(token), "address.read", null);
const codeOf = (result: { readonly ok: boolean; readonly problem?: { readonly code: string } }): string => (result.ok ? "ok" : result.problem?.code ?? "?");
async function mailed(now = T): Promise<readonly Mail[]> {
  const sent: Mail[] = [];
  await deliverNotices(database(), now, async (mail) => void sent.push(mail));
  return sent;
}
const digits = (mail: Mail | undefined): string => /\b(\d{8})\b/.exec(mail?.text ?? "")?.[1] ?? "none";
async function asked(token: string, address = NEW): Promise<string> {
  const result = await askForAddress(await changing(token), address, T);
  if (!result.ok) throw new Error(result.problem.code);
  return result.value.asked;
}
const emailOf = (personId: string) => database().select({ email: people.email }).from(people).where(eq(people.id, personId)).get()?.email;

describe("another address of one's own", () => {
  it("is taken once its mailbox showed the code; the old one is told, and opens nothing any more", async () => {
    const [here, elsewhere] = [session("mother"), session("mother")];
    askForCode(OLD, "network", T);
    const [toOld] = await mailed();
    database().insert(invitations).values({ id: "open", personId: "mother", linkHash: "x", createdAt: T, expiresAt: T + MINUTE }).run();
    const sealed = await asked(here, ` Mother@Elsewhere.example `);
    expect(sealed).not.toContain("elsewhere");
    expect([await askedAddress(await reading(here), sealed), await ownAddress(await reading(here))]).toEqual([NEW, OLD]);
    const [mail, ...more] = await mailed();
    expect([mail?.to, more]).toEqual([NEW, []]);
    expect(mail?.offUrl).toBeNull();
    expect(codeOf(await takeAddress(await changing(here), { asked: sealed, code: digits(mail) }, T + MINUTE))).toBe("ok");
    expect([emailOf("mother"), actorOf(here, T)?.personId, actorOf(elsewhere, T)]).toEqual([NEW, "mother", null]);
    const [told] = await mailed(T + MINUTE);
    expect([told?.to, told?.text.includes("elsewhere"), told?.text.includes(OLD)]).toEqual([OLD, false, false]);
    expect(codeOf(redeemCode(OLD, digits(toOld), T + MINUTE))).not.toBe("ok");
    expect(database().select({ at: invitations.revokedAt }).from(invitations).get()?.at).toBe(T + MINUTE);
    askForCode(OLD, "network", T + MINUTE);
    expect(await mailed(T + MINUTE)).toEqual([]);
    askForCode(NEW, "network", T + MINUTE);
    expect((await mailed(T + MINUTE)).map(({ to }) => to)).toEqual([NEW]);
    const audited = database().select().from(auditEntries).where(and(eq(auditEntries.act, "address.changed"), eq(auditEntries.outcome, "done"))).all();
    expect(audited).toHaveLength(1);
    expect(JSON.stringify(audited)).not.toContain("example");
  });

  it("asks for fresh proof from everybody", () => {
    expect([isProofEnough(null, "address.change", T), isProofEnough(T - 10 * MINUTE - 1, "address.change", T), isProofEnough(T, "address.change", T)]).toEqual([false, false, true]);
  });

  it("refuses what is no address, one's own, a wrong code, a used one, and a code for another address, session or person", async () => {
    const [here, elsewhere, father] = [session("mother"), session("mother"), session("father")];
    for (const address of ["nobody", '"a@evil"@elsewhere.example', "a@one.example,b@two.example", "a@one.example\r\nBcc: b@two.example"]) expect(codeOf(await askForAddress(await changing(here), address, T)), address).toBe("address-invalid");
    expect(codeOf(await askForAddress(await changing(here), OLD.toUpperCase(), T))).toBe("address-own");
    const other = await asked(here, "third@elsewhere.example");
    await mailed();
    const sealed = await asked(here);
    const code = digits((await mailed())[0]);
    const wrong = String((Number(code) + 1) % 100_000_000).padStart(8, "0");
    expect(codeOf(await takeAddress(await changing(here), { asked: sealed, code: wrong }, T))).toBe("code-wrong");
    expect(codeOf(await takeAddress(await changing(here), { asked: other, code }, T))).toBe("code-wrong");
    expect(codeOf(await takeAddress(await changing(elsewhere), { asked: sealed, code }, T))).toBe("code-wrong");
    expect(codeOf(await takeAddress(await changing(father), { asked: sealed, code }, T))).toBe("form-invalid");
    expect(codeOf(await takeAddress(await changing(here), { asked: `${sealed}x`, code }, T))).toBe("form-invalid");
    expect(codeOf(await takeAddress(await changing(here), { asked: sealed, code }, T + 10 * MINUTE))).toBe("code-expired");
    expect([emailOf("mother"), emailOf("father")]).toEqual([OLD, "father@people.example"]);
    expect(codeOf(await takeAddress(await changing(here), { asked: sealed, code }, T))).toBe("ok");
    expect(codeOf(await takeAddress(await changing(here), { asked: sealed, code }, T))).toBe("code-wrong");
  });

  it("tells nobody who else is here: a taken address is asked for alike and gets no mail", async () => {
    const here = session("mother");
    expect(typeof (await asked(here, "father@people.example"))).toBe("string");
    expect(await mailed()).toEqual([]);
    // Taken by somebody else in the minutes between.
    const sealed = await asked(here);
    const code = digits((await mailed())[0]);
    database().update(people).set({ email: NEW }).where(eq(people.id, "father")).run();
    expect(codeOf(await takeAddress(await changing(here), { asked: sealed, code }, T))).toBe("address-taken");
    expect(emailOf("mother")).toBe(OLD);
  });

  it("mails three codes in a quarter of an hour and no more", async () => {
    const here = session("mother");
    for (let n = 0; n < 3; n += 1) await asked(here, `a${n}@elsewhere.example`);
    expect(codeOf(await askForAddress(await changing(here), "a4@elsewhere.example", T))).toBe("proofs-asked-often");
    expect(await mailed()).toHaveLength(3);
  });
});
