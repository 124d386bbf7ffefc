import { createECDH } from "node:crypto";
import type { ReactNode } from "react";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { database } from "@/db/client";
import { auditEntries } from "@/db/schema/machinery";
import { people } from "@/db/schema/practice";
import { noticeChoices } from "@/db/schema/reach";
import { GET, POST } from "@/app/(open)/mail-off/press/route";
import DeskMailPage from "@/app/desk/mail/page";
import FamilyMailPage from "@/app/family/account/mail/page";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { seal } from "@/lib/access/sealed";
import type { Device } from "@/lib/domain/notices/device";
import { offKey } from "@/lib/notices/off-key";
import { choicesOf, choose, switchOffByKey } from "@/lib/records/notice-choices";
import { addPhone } from "@/lib/records/push-phones";
import { addFamilyOf, addPerson, makeWorld } from "@/tests/records/world";
import { markupOf } from "@/tests/records/markup";

const session = vi.hoisted((): { actor: unknown } => ({ actor: null }));
vi.mock("@/lib/access/session", () => ({ signedIn: async () => session.actor, currentActor: async () => session.actor }));
const cookie = vi.hoisted((): { phone: string | null } => ({ phone: null }));
vi.mock("next/navigation", async (original) => ({ ...(await original<object>()), useRouter: () => ({}) }));
vi.mock("@/lib/access/cookies", () => ({ readCookie: async () => cookie.phone }));

const T = Date.UTC(2026, 2, 3, 16, 20);
let world: ReturnType<typeof makeWorld>;
let mother: Actor;
let other: Actor;
let therapist: Actor;
beforeEach(() => {
  world = makeWorld();
  [mother, other, therapist] = [addPerson("mother", "guardian"), addPerson("other", "guardian"), addPerson("therapist", "therapist")];
  addFamilyOf("family-a", ["child-1"], { mother: ["child-1"], other: ["child-1"] });
});
afterEach(() => {
  delete process.env["PUBLIC_URL"];
  world.close();
});

const mine = async (who: Actor) => choicesOf(await grant(who, "notices.choose", null));
const ALL = { news: true, reminders: true };
const ON = { isOn: { mail: ALL, push: ALL }, quiet: null, timeZone: null, practiceZone: "Europe/London" };

describe("what a person chooses", () => {
  it("is all on and never quiet until they say otherwise, and is theirs alone", async () => {
    expect(await mine(mother)).toEqual(ON);
    const chosen = { isOn: { mail: { news: true, reminders: false }, push: { news: false, reminders: true } }, quiet: { from: 1260, until: 420 }, timeZone: "Asia/Kathmandu" };
    expect(await choose(await grant(mother, "notices.choose", null), chosen, T)).toEqual({ ok: true, value: null });
    expect(await mine(mother)).toEqual({ ...chosen, practiceZone: "Europe/London" });
    expect(await mine(other)).toEqual(ON);
    const { isOn, quiet, timeZone } = ON;
    await choose(await grant(mother, "notices.choose", null), { isOn, quiet, timeZone }, T + 1);
    expect(await mine(mother)).toEqual(ON);
  });

  it("is refused with equal ends and with a zone that is none, and changes nothing then", async () => {
    const granted = await grant(mother, "notices.choose", null);
    expect(await choose(granted, { ...ON, quiet: { from: 60, until: 60 } }, T)).toMatchObject({ ok: false, problem: { code: "quiet-hours-equal" } });
    expect(await choose(granted, { ...ON, timeZone: "europe/london" }, T)).toMatchObject({ ok: false, problem: { code: "form-invalid" } });
    expect(database().select().from(noticeChoices).all()).toEqual([]);
  });
});

describe("the link of a mail", () => {
  it("switches off that person's news and reminders by mail, and nothing else of anybody", async () => {
    const before = database().select().from(people).all();
    expect(await switchOffByKey(offKey("mother"), T)).toBe(true);
    expect(await switchOffByKey(offKey("mother"), T + 1)).toBe(true);
    expect((await mine(mother)).isOn).toEqual({ mail: { news: false, reminders: false }, push: ALL });
    expect(await mine(other)).toEqual(ON);
    expect(database().select().from(people).all()).toEqual(before);
    expect(database().select().from(auditEntries).all().map(({ act, actorId, sessionHash }) => [act, actorId, sessionHash])).toEqual(Array.from({ length: 2 }, () => ["notices.off-by-mail", "mother", null]));
  });

  it("is refused when changed, made for another purpose, of nobody, or of somebody without access", async () => {
    const key = offKey("mother");
    const changed = `${key.slice(0, -2)}${key.endsWith("AA") ? "BB" : "AA"}`;
    database().update(people).set({ disabledAt: T }).run();
    for (const wrong of ["", "mother", changed, seal("notice", "mother"), seal("asked", "mother"), offKey("nobody"), key]) expect(await switchOffByKey(wrong, T)).toBe(false);
    expect(database().select().from(noticeChoices).all()).toEqual([]);
  });
});

describe("the address a mail program presses", () => {
  const url = (key = offKey("mother")) => `http://localhost:3000/mail-off/press?key=${key}`;
  const params = { params: Promise.resolve({}) };
  const press = async (init: RequestInit, key?: string) => (await POST(new Request(url(key), { method: "POST", ...init }), params)).status;
  const FORM = { "content-type": "application/x-www-form-urlencoded" };
  const WORD = "List-Unsubscribe=One-Click";
  const isOff = (): boolean => database().select().from(noticeChoices).all().length > 0;

  it("takes the request of RFC 8058, section 3.2, in both encodings it allows", async () => {
    expect(await press({ headers: FORM, body: WORD })).toBe(200);
    expect(isOff()).toBe(true);
    database().delete(noticeChoices).run();
    const form = new FormData();
    form.set("List-Unsubscribe", "One-Click");
    expect(await press({ body: form })).toBe(200);
    expect(isOff()).toBe(true);
  });

  it("takes nothing else: other bodies, foreign pages, a browser's cookie, a key that is none", async () => {
    expect(await press({ headers: FORM, body: "List-Unsubscribe=Two-Click" })).toBe(400);
    expect(await press({ headers: { "content-type": "text/plain" }, body: WORD })).toBe(400);
    expect(await press({ headers: FORM })).toBe(400);
    expect(await press({ headers: FORM, body: WORD }, "none")).toBe(400);
    for (const more of [{ origin: "https://evil.example" }, { origin: "null" }, { cookie: "a=b" }]) expect(await press({ headers: { ...FORM, ...more }, body: WORD })).toBe(403);
    expect(isOff()).toBe(false);
  });

  it("only shows the page when it is opened", async () => {
    const key = offKey("mother");
    const answer = await GET(new Request(url(key)), params);
    expect([answer.status, answer.headers.get("location")]).toEqual([303, `/mail-off?key=${key}`]);
    expect(isOff()).toBe(false);
  });
});

describe("the page of one's mails", () => {
  async function html(who: Actor, page: () => Promise<ReactNode>): Promise<string> {
    session.actor = who;
    return markupOf(await page());
  }

  it("says to each side what always comes and why, and shows what was chosen", async () => {
    await choose(await grant(mother, "notices.choose", null), { isOn: { mail: { news: true, reminders: false }, push: ALL }, quiet: { from: 1260, until: 420 }, timeZone: null }, T);
    const family = await html(mother, FamilyMailPage);
    const checked = [...family.matchAll(/<input[^>]*type="radio"[^>]*>/g)].map(([tag]) => tag).filter((tag) => tag.includes("checked"));
    expect(checked.map((tag) => [/name="(\w+)"/.exec(tag)?.[1], /value="(\w+)"/.exec(tag)?.[1]])).toEqual([["news", "on"], ["reminders", "off"]]);
    for (const part of ['value="21:00"', 'value="07:00"', "A stop, or news that can bring one back", "sign-in code"]) expect(family).toContain(part);
    const staff = await html(therapist, DeskMailPage);
    expect(staff).toContain("mailed again every 15 minutes until you have written down that you spoke with the family, 8 times in all");
    expect(staff).not.toContain("a photo was asked for");
    expect(staff).toContain("As the practice: Europe/London");
  });

  it("asks about phones once there are some, names each with one press to end it, and says which is this one", async () => {
    const none = await html(mother, FamilyMailPage);
    expect(none).not.toContain("On your phones and computers");
    // What is not asked stays as it was.
    expect([...none.matchAll(/<input type="hidden" name="(\w+Push)" value="(\w+)"/g)].map(([, name, value]) => [name, value])).toEqual([["newsPush", "on"], ["remindersPush", "on"]]);
    const receiver = createECDH("prime256v1");
    receiver.generateKeys();
    const add = async (name: string, device: Device) => {
      const address = { endpoint: `https://fcm.googleapis.com/fcm/send/${name}`, p256dh: receiver.getPublicKey("base64url"), auth: "A".repeat(22) };
      const added = await addPhone(await grant(mother, "notices.choose", null), { address, device, before: null, isRenewal: false }, T);
      return added.ok ? added.value.id : "";
    };
    cookie.phone = await add("one", "android");
    const one = await html(mother, FamilyMailPage);
    expect(one).toContain("On your phones and computers");
    expect(one).toMatch(/Android phone or tablet, since Tue 3 Mar, 16:20 <strong>This one<\/strong>/);
    expect(one).not.toContain("Turn all off");
    await add("two", "windows");
    const two = await html(mother, FamilyMailPage);
    expect([two.match(/This one/g)?.length, two.match(/>Turn off</g)?.length, two.includes("Turn all off")]).toEqual([1, 2, true]);
    expect(await html(therapist, DeskMailPage)).not.toContain("since Tue 3 Mar");
    expect(two).not.toContain("fcm.googleapis.com");
  });
});
