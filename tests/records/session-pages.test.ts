import type { ReactNode } from "react";
import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import SessionLinkPage from "@/app/(open)/session/page";
import SessionPage from "@/app/desk/sessions/[sessionId]/page";
import SessionsPage from "@/app/desk/sessions/page";
import { OwnSessions, sessionsOfChild } from "@/app/family/session/own-sessions";
import JoinPage from "@/app/family/session/page";
import { database } from "@/db/client";
import { curveRecords } from "@/db/schema/care";
import type { Actor } from "@/lib/access/actor";
import { addSymptom, answeringWorld, NOW } from "@/tests/records/answering-scene";
import { markupOf } from "@/tests/records/markup";
import { askOf, inviteTo, plan } from "@/tests/records/session-scene";

const session = vi.hoisted((): { actor: unknown } => ({ actor: null }));
vi.mock("@/lib/access/session", () => ({
  signedIn: async () => session.actor, currentActor: async () => session.actor,
  readerNow: async () => ({ locale: "en", voice: "carer" }),
}));

vi.mock("next/navigation", async (original) => ({ ...(await original<object>()), usePathname: () => "/family/session" }));

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => {
  vi.useFakeTimers({ toFake: ["Date"], now: NOW });
  world = answeringWorld();
});
afterEach(() => {
  world.close();
  vi.useRealTimers();
});

async function html(who: Actor | null, page: () => Promise<ReactNode>): Promise<string> {
  session.actor = who;
  return markupOf(await page());
}
const link = (key?: string) => ({ searchParams: Promise.resolve(key === undefined ? {} : { key }) });
const home = (who: Actor, childId = "child-1") => html(who, async () => OwnSessions({ actor: who, of: await sessionsOfChild(who, childId, NOW) }));
const EXERCISE_WORDS = /Side-lying|top arm|LEFT|RIGHT|IZQUIERD|DERECH|thoracic|lumbar/;

describe("behind a session invitation", () => {
  it("a stranger reads the same for every address, and nothing of the session", async () => {
    const key = await inviteTo(world.therapist, await plan(world.therapist));
    const good = await html(null, () => SessionLinkPage(link(key)));
    const made = await html(null, () => SessionLinkPage(link("x".repeat(43))));
    expect(good.replaceAll(key, "KEY")).toBe(made.replaceAll("x".repeat(43), "KEY"));
    expect(good).toContain("Ask your practice for an invitation of your own first");
    expect(good).not.toMatch(/17:30|Practice/);
  });

  it("a family reads when it is in its own zone, and one press for each child", async () => {
    const key = await inviteTo(world.therapist, await plan(world.therapist));
    const page = await html({ ...world.mother, timeZone: "Australia/Sydney" }, () => JoinPage(link(key)));
    // Friday 17:30 in London is Saturday 04:30 in Sydney, then eleven hours ahead.
    expect(page).toContain("Group session on Sat 7 Mar, 04:30");
    expect(page.match(/Ask to come with child-[12]</g)).toHaveLength(2);
    expect(page).not.toMatch(/child-3|family-b|checked=""/);
  });

  it("a child of another pattern is told so in both languages and voices, and never shown the exercise", async () => {
    const key = await inviteTo(world.therapist, await plan(world.therapist));
    database().update(curveRecords).set({ patternKey: "thoracic-left+lumbar-right" }).where(eq(curveRecords.familyId, "family-a")).run();
    const said = {
      en: { carer: "another curve pattern, not for child-1. Ask your therapist.", self: "another curve pattern, not for you. Ask your therapist." },
      es: { carer: "otro patrón de curvas, no para child-1. Pregunte a su terapeuta.", self: "otro patrón de curvas, no para usted. Pregunte a su terapeuta." },
    };
    for (const locale of ["en", "es"] as const) {
      for (const voice of ["carer", "self"] as const) {
        const page = await html({ ...world.father, reader: { locale, voice } }, () => JoinPage(link(key)));
        expect(page).toContain(said[locale][voice]);
        expect(page).not.toMatch(EXERCISE_WORDS);
        expect(page).not.toContain("<form");
      }
    }
  });
});

describe("a family's first page", () => {
  it("asks for the photo with its day and one press, and under a stop names the stop instead", async () => {
    const sessionId = await plan(world.therapist);
    await askOf(world.therapist, sessionId, ["child-1"]);
    const asked = await home(world.mother);
    expect(asked).toContain("asks for a photo of child-1 by Wed 11 Mar 2026.");
    expect(asked).toContain("/family/send?child=child-1&amp;exercise=side-lying");
    expect(asked).toContain('<a href="https://call.example/room"');
    const spanish = await home({ ...world.mother, reader: { locale: "es", voice: "carer" } });
    expect(spanish).toContain("pide una foto de child-1. Fecha límite: miércoles 11 de marzo de 2026.");
    expect(await home(world.mother, "child-2")).toBe("");
    addSymptom("report", "child-1", "today", NOW);
    const stopped = await home(world.mother);
    expect(stopped).toContain("There is a stop. Read that first.");
    expect(stopped).not.toContain("/family/send");
  });
});

describe("the desk", () => {
  it("starts with an empty list and the form, then lists by stage", async () => {
    expect(await html(world.therapist, SessionsPage)).toContain("No group session yet");
    await plan(world.therapist);
    const page = await html(world.therapist, SessionsPage);
    expect(page).toContain("Fri 6 Mar, 17:30");
    expect(page).toContain("nobody taken in");
    expect(page).not.toContain("No group session yet");
  });

  it("shows a session's table, its invitation as a link and a code, and nobody's to another practice", async () => {
    const sessionId = await plan(world.therapist);
    await askOf(world.therapist, sessionId, ["child-1"]);
    const key = await inviteTo(world.therapist, sessionId);
    const show = (who: Actor) => html(who, () => SessionPage({ params: Promise.resolve({ sessionId }), searchParams: Promise.resolve({}) }));
    const page = await show(world.therapist);
    expect(page).toContain("1 child: 1 asked, 0 sent, 0 answered, 0 opened by a carer.");
    expect(page).toContain(`/session?key=${key}`);
    expect(page).toContain("Remind who has not sent");
    expect(page).toMatch(/<option value="child-2">child-2 · family-a<\/option>/);
    await expect(show(world.outsider)).rejects.toThrow(/404/);
  });
});
