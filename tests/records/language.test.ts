import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { people } from "@/db/schema/practice";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { actorOf, endSessionsOf, openSession } from "@/lib/access/session-row";
import type { Locale } from "@/lib/domain/words/reader";
import { addNotice } from "@/lib/notices/add";
import type { Mail } from "@/lib/notices/compose";
import { deliverNotices } from "@/lib/notices/outbox";
import { endCare } from "@/lib/records/family-carers";
import { chooseLanguage, languagesOf } from "@/lib/records/language";
import { addFamilyOf, addPerson, makeWorld } from "@/tests/records/world";

const T = Date.UTC(2026, 2, 3, 16, 20);
let world: ReturnType<typeof makeWorld>;
let mother: Actor;
let father: Actor;
let therapist: Actor;
beforeEach(() => {
  world = makeWorld();
  [mother, father, therapist] = [addPerson("mother", "guardian"), addPerson("father", "guardian"), addPerson("therapist", "therapist")];
  addFamilyOf("family-a", ["child-1"], { mother: ["child-1"], father: ["child-1"] });
});
afterEach(() => world.close());

const open = (personId: string, provedAt: number | null, language: Locale | null = null) =>
  database().transaction((tx) => openSession(tx, { personId, provedAt, replaces: null, language }, T))?.token ?? "";
const choose = async (who: Actor, language: Locale) => chooseLanguage(await grant(who, "language.choose", null), language, T);

describe("the language of a person", () => {
  it("is what they chose, then what their browser asks for, and English at the desk", async () => {
    const [hers, theirs] = [open("mother", null), open("therapist", T)];
    expect(actorOf(hers, T)?.reader).toEqual({ locale: "en", voice: "carer" });
    expect(actorOf(hers, T, "es")?.reader.locale).toBe("es");
    await choose(mother, "es");
    expect(actorOf(hers, T)?.reader.locale).toBe("es");
    expect(actorOf(theirs, T, "es")?.reader.locale).toBe("en");
    await expect(grant(therapist, "language.choose", null)).rejects.toThrow(/404/);
  });

  it("is kept from the browser in which it was chosen before signing in, and never over a choice of their own", () => {
    expect(actorOf(open("mother", null, "es"), T)?.reader.locale).toBe("es");
    database().transaction((tx) => endSessionsOf(tx, "mother", T));
    expect(actorOf(open("mother", null, "en"), T)?.reader.locale).toBe("es");
    expect(actorOf(open("therapist", T, "es"), T)?.reader.locale).toBe("en");
    expect(database().select({ language: people.language }).from(people).where(eq(people.id, "therapist")).get()).toEqual({ language: null });
  });

  it("shows at the desk while they care for the child", async () => {
    await choose(mother, "es");
    await choose(father, "en");
    const reading = async () => languagesOf(await grant(therapist, "child.read", "child-1"));
    expect(await reading()).toEqual([{ name: "mother", language: "es" }]);
    await endCare(await grant(therapist, "family.invite", "family-a"), { personId: "mother", careOf: "child-1", isLastMeant: false }, T);
    expect(await reading()).toEqual([]);
  });

  it("is that of their mail, with the same links and as little said", async () => {
    await choose(mother, "es");
    database().transaction((tx) => {
      for (const personId of ["mother", "father"]) addNotice(tx, { kind: "answer", personId, dedupeKey: personId, now: T });
      addNotice(tx, { kind: "sign-in-code", personId: "mother", dedupeKey: "code", values: { code: "12345678", key: "k" }, now: T });
    });
    const mails: Mail[] = [];
    await deliverNotices(database(), T, async (mail) => { mails.push(mail); });
    const to = (name: string, code: boolean) => mails.find((mail) => mail.to === `${name}@people.example` && mail.text.includes("12345678") === code);
    expect(mails).toHaveLength(3);
    expect(to("father", false)?.subject).toBe("Something new is waiting for you in Trueside");
    expect(to("mother", false)?.subject).toBe("Le espera algo nuevo en Trueside");
    expect(to("mother", true)?.subject).toBe(to("mother", false)?.subject);
    expect(to("mother", true)?.text).toMatch(/^Su código para entrar: 12345678\n/);
    const links = (mail: Mail | undefined) => (mail?.text.match(/http\S+/g) ?? []).map((link) => new URL(link).pathname);
    expect(links(to("mother", false))).toEqual(links(to("father", false)));
  });
});
