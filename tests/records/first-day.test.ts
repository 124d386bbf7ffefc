import { afterEach, beforeEach, expect, it, vi } from "vitest";
import JoinPage from "@/app/(open)/join/page";
import QueuePage from "@/app/desk/page";
import { database } from "@/db/client";
import { createLeadInvitation } from "@/lib/cli/first-lead";
import { markupOf } from "@/tests/records/markup";
import { addFamilyOf, addPerson, makeWorld } from "@/tests/records/world";

const session = vi.hoisted((): { actor: unknown } => ({ actor: null }));
vi.mock("@/lib/access/session", () => ({
  signedIn: async () => session.actor, currentActor: async () => session.actor, readerNow: async () => ({ locale: "en", voice: "carer" }),
}));

let world: ReturnType<typeof makeWorld>;
beforeEach(() => {
  world = makeWorld();
});
afterEach(() => world.close());

it("asks a new practice's lead for its time zone, and takes none for theirs", async () => {
  for (const table of ["working_hours", "practices"]) database().$client.prepare(`delete from ${table}`).run();
  const address = await createLeadInvitation(database(), new Date());
  const markup = await markupOf(await JoinPage({ searchParams: Promise.resolve({ key: /key=([\w-]+)/.exec(address ?? "")?.[1] ?? "" }) }));
  const [select = ""] = /<select[^>]*name="timeZone"[\s\S]*?<\/select>/.exec(markup) ?? [];
  // HTML, 4.10.7: a required select whose first choice is empty is not sent until another is chosen.
  expect(select).toMatch(/^<select[^>]* required=""/);
  expect(select.match(/<option value="([^"]*)"/)?.[1]).toBe("");
  expect(select).not.toContain("selected");
  expect(select).toContain('<option value="Europe/Vienna"');
});

it("says what to do first while there is no family, and that all is answered once there is one", async () => {
  session.actor = addPerson("lead", "lead");
  const queue = async () => markupOf(await QueuePage({ searchParams: Promise.resolve({}) }));
  const first = await queue();
  expect(first).toContain("No families yet");
  expect(first).toMatch(/href="\/desk\/practice"[\s\S]*href="\/desk\/families"/);
  expect(first).not.toContain("Every photo set has its answer.");
  addPerson("mother", "guardian");
  addFamilyOf("family-a", ["child-1"], { mother: ["child-1"] });
  const later = await queue();
  expect(later).toContain("Every photo set has its answer.");
  expect(later).not.toContain("No families yet");
});
