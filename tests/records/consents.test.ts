import { createHash } from "node:crypto";
import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { database } from "@/db/client";
import { careLinks, children, consents } from "@/db/schema/care";
import { auditEntries } from "@/db/schema/machinery";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { DESK } from "@/lib/domain/words/reader";
import { consentText, PURPOSES } from "@/lib/messages/consent-text";
import auth from "@/lib/messages/en/auth.json";
import { readPhotoConsent } from "@/lib/records/child-facts";
import { consentOf, decideConsent, type ConsentDecision } from "@/lib/records/consents";
import { addFamilyOf, addPerson, makeWorld } from "@/tests/records/world";

const T = Date.UTC(2026, 2, 3, 16, 20);

let world: ReturnType<typeof makeWorld>;
let mother: Actor, father: Actor, client: Actor, therapist: Actor;
beforeEach(() => {
  vi.useFakeTimers({ toFake: ["Date"], now: T });
  world = makeWorld();
  mother = addPerson("mother", "guardian");
  father = addPerson("father", "guardian");
  client = addPerson("client", "young-person");
  therapist = addPerson("therapist", "therapist");
  addFamilyOf("family-a", ["child-1", "child-2"], { mother: ["child-1", "child-2"], father: ["child-1"] });
  addFamilyOf("family-b", ["grown"], { father: ["grown"] });
  database().update(children).set({ bornIn: "1990-05" }).where(eq(children.id, "grown")).run();
  database().insert(careLinks).values({ id: "self", personId: "client", childId: "grown", familyId: "family-b", relation: "self", createdAt: 0 }).run();
});
afterEach(() => {
  vi.useRealTimers();
  world.close();
});

const GIVE: ConsentDecision = { purpose: "photos", decision: "given", standing: "parent", textVersion: "3" };
const TAKE_BACK: ConsentDecision = { purpose: "photos", decision: "withdrawn", standing: null, textVersion: "1" };
const decide = async (who: Actor, childId: string, decision: ConsentDecision, now = T) =>
  decideConsent(await grant(who, "consent.give", childId), decision, now);
const codeOf = (result: { readonly ok: boolean; readonly problem?: { readonly code: string } }): string => (result.ok ? "ok" : result.problem?.code ?? "?");
const decisions = async (who: Actor, childId: string) =>
  Object.fromEntries((await consentOf(await grant(who, "child.read", childId), T + 5000)).map(({ purpose, decision }) => [purpose, decision]));

describe("consent", () => {
  it("is off for every purpose until given, one purpose and one child at a time", async () => {
    expect(await decisions(mother, "child-1")).toEqual({ photos: null, teaching: null });
    expect(codeOf(await decide(mother, "child-1", GIVE))).toBe("ok");
    expect(await decisions(mother, "child-1")).toEqual({ photos: "given", teaching: null });
    expect(await decisions(mother, "child-2")).toEqual({ photos: null, teaching: null });
  });

  it("keeps who, when, as what, and the very text", async () => {
    await decide(mother, "child-1", { ...GIVE, standing: "legal-guardian" });
    const { title, ...points } = auth.consentText.photos["3"];
    const hash = createHash("sha256").update(JSON.stringify([title, ...Object.values(points)])).digest("hex");
    expect(database().select().from(consents).get()).toMatchObject({
      childId: "child-1", familyId: "family-a", personId: "mother", purpose: "photos", decision: "given", textVersion: "3", textHash: hash,
      standing: "legal-guardian", decidedAt: T, sequence: 1,
    });
    expect(database().select({ act: auditEntries.act }).from(auditEntries).all()).toEqual([{ act: "consent.photos.given" }]);
  });

  it("is taken back by any guardian without a question, and both decisions stay on record", async () => {
    await decide(mother, "child-1", GIVE);
    expect(codeOf(await decide(father, "child-1", TAKE_BACK, T + 1000))).toBe("ok");
    expect(await decisions(mother, "child-1")).toMatchObject({ photos: "withdrawn" });
    expect(database().select({ decision: consents.decision, personId: consents.personId }).from(consents).all())
      .toEqual([{ decision: "given", personId: "mother" }, { decision: "withdrawn", personId: "father" }]);
    expect(readPhotoConsent({ childId: "child-1", familyId: "family-a" }, T + 1000)).not.toBe("given");
    await decide(mother, "child-1", GIVE, T + 2000);
    expect(await decisions(father, "child-1")).toMatchObject({ photos: "given" });
  });

  it("is about the text of today: an old page's text is refused, taking back is not", async () => {
    expect(codeOf(await decide(mother, "child-1", { ...GIVE, textVersion: "0" }))).toBe("stale-version");
    expect(codeOf(await decide(mother, "child-1", { ...TAKE_BACK, textVersion: "0" }))).toBe("ok");
  });

  it("is given for oneself only by oneself, and for a child only by a guardian", async () => {
    expect(codeOf(await decide(client, "grown", { ...GIVE, standing: "parent" }))).toBe("form-invalid");
    expect(codeOf(await decide(mother, "child-2", { ...GIVE, standing: "self" }))).toBe("form-invalid");
    expect(codeOf(await decide(mother, "child-2", { ...GIVE, standing: null }))).toBe("form-invalid");
    expect(database().select().from(consents).all()).toEqual([]);
    expect(codeOf(await decide(client, "grown", { ...GIVE, standing: "self" }))).toBe("ok");
    expect(codeOf(await decide(client, "grown", TAKE_BACK))).toBe("ok");
    expect(database().select({ standing: consents.standing }).from(consents).all()).toEqual([{ standing: "self" }, { standing: "self" }]);
  });

  it("is asked anew of an adult, and a guardian's word from before counts no longer", async () => {
    // Born in May 2013: 18 for certain on 1 June 2031, which begins in London at 23:00 UTC the day before.
    database().update(children).set({ bornIn: "2013-05" }).where(eq(children.id, "child-2")).run();
    await decide(mother, "child-2", GIVE);
    const ref = { childId: "child-2", familyId: "family-a" };
    expect(readPhotoConsent(ref, Date.UTC(2031, 4, 31, 22, 59))).toBe("given");
    expect(readPhotoConsent(ref, Date.UTC(2031, 4, 31, 23))).toBe("never");
    await decide(mother, "child-2", TAKE_BACK, T + 1000);
    expect(readPhotoConsent(ref, Date.UTC(2031, 4, 31, 23))).toBe("withdrawn");
  });

  it("is nobody else's to give: not staff's, not another child's guardian's", async () => {
    await expect(grant(therapist, "consent.give", "child-1")).rejects.toThrow(/404/);
    await expect(grant(father, "consent.give", "child-2")).rejects.toThrow(/404/);
    expect(await decisions(therapist, "child-1")).toEqual({ photos: null, teaching: null });
  });

  it("texts people have agreed to stay as they were", () => {
    // A changed text must come as a new version: these hashes are what people have agreed to.
    const hashes = PURPOSES.map((purpose) => [purpose, Object.fromEntries(Object.keys(auth.consentText[purpose]).map((version) => [version, consentText(purpose, DESK, version).hash]))]);
    expect(Object.fromEntries(hashes)).toEqual(AGREED_TO);
    expect(PURPOSES.map((purpose) => consentText(purpose, DESK).version)).toEqual(["3", "1"]);
  });
});

/** SHA-256 computed by another program from the catalogue, by version. */
const AGREED_TO = { photos: { 1: "fd23eb7c45f07de9626c9771c981bbd15506e6ae7523f629b011128b25519ece", 2: "7f83820cd0fa05255820e3da50650c504e5c4072816abaceffd87e5efe4a5fdd", 3: "8527cb3b6e67344709fed0ca2cb5b351150492f1f4a8f76a2aa48877c54fe305" }, teaching: { 1: "4caebf479f707a6d96cd746a9e7b9bb4c228937ed3e737d70f7fcb2999785a5a" } };
