import type { ReactNode } from "react";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import SetPhotosPage from "@/app/desk/children/[childId]/sets/[photoSetId]/photos/page";
import ErasuresPage from "@/app/desk/erasures/page";
import PracticePage from "@/app/desk/practice/page";
import ErasePhotosPage from "@/app/family/erase/[childId]/[photoSetId]/page";
import ErasePage from "@/app/family/erase/[childId]/page";
import FamilyHistoryPage from "@/app/family/history/page";
import type { Actor } from "@/lib/access/actor";
import { database } from "@/db/client";
import { photoSets } from "@/db/schema/photos";
import { grant } from "@/lib/access/grant";
import { askErasure } from "@/lib/records/erasures";
import { mediaStore } from "@/lib/records/media";
import { setPhotoAside } from "@/lib/records/quarantines";
import { runRetention } from "@/lib/records/retention";
import { addSet, answeringWorld, NOW } from "@/tests/records/answering-scene";
import { done } from "@/tests/records/desk-scene";
import { markupOf } from "@/tests/records/markup";

const session = vi.hoisted((): { actor: unknown } => ({ actor: null }));
vi.mock("@/lib/access/session", () => ({ signedIn: async () => session.actor, currentActor: async () => session.actor, readerNow: async () => (session.actor as Actor).reader }));
vi.mock("next/navigation", async (original) => ({ ...(await original<typeof import("next/navigation")>()), useRouter: () => ({}) }));

const DAY = 86_400_000;
let world: ReturnType<typeof answeringWorld>;
beforeEach(() => {
  vi.useFakeTimers({ toFake: ["Date"], now: NOW });
  vi.spyOn(process.stderr, "write").mockImplementation(() => true);
  world = answeringWorld();
  addSet("set");
});
afterEach(() => {
  world.close();
  vi.restoreAllMocks();
  vi.useRealTimers();
});

async function html(who: Actor, page: () => Promise<ReactNode>): Promise<string> {
  session.actor = who;
  return markupOf(await page());
}
const spanish = (who: Actor): Actor => ({ ...who, reader: { ...who.reader, locale: "es" } });
const ofSet = { params: Promise.resolve({ childId: "child-1", photoSetId: "set" }) };
const ofChild = { params: Promise.resolve({ childId: "child-1" }) };

test("the lead's page names what waits and what is out of sight, and shows no picture", async () => {
  done(await askErasure(await grant(world.mother, "erasure.ask", "child-1"), { kind: "photo", objectId: "set-photo-2" }, NOW));
  done(await setPhotoAside(await grant(world.therapist, "photo.set-aside", "child-1"), "set-photo-1", NOW));
  const page = await html(world.lead, () => ErasuresPage());
  expect(page).toContain("A photo of child-1 (family-a)");
  expect(page).toContain("mother asked");
  expect(page).toContain("therapist set it aside");
  expect(page).not.toContain("/media/");
  await expect(html(world.therapist, () => ErasuresPage())).rejects.toThrow();
});

test("what is held says how many of how many, on its page and on the practice's", async () => {
  for (let n = 0; n < 8; n += 1) addSet(`old-${n}`, { sentAt: NOW - n * 60_000 });
  await runRetention(database(), mediaStore(), "practice", NOW);
  vi.setSystemTime(NOW + 350 * DAY);
  expect(await runRetention(database(), mediaStore(), "practice", NOW + 350 * DAY)).toBe("held");
  expect(await html(world.lead, () => ErasuresPage())).toContain("27 photos of 27 at once");
  expect(await html(world.lead, () => PracticePage())).toContain("Old photos wait for your word");
  expect(await html(world.therapist, () => PracticePage())).not.toContain("Old photos wait for your word");
});

test("a therapist sets photos aside and erases none; the lead may do both", async () => {
  const [therapist, lead] = [await html(world.therapist, () => SetPhotosPage(ofSet)), await html(world.lead, () => SetPhotosPage(ofSet))];
  expect([therapist.match(/Take it out of sight/g)?.length, therapist.includes("Erase this photo now"), lead.includes("Erase this photo now")]).toEqual([6, false, true]);
  await expect(html(world.mother, () => SetPhotosPage(ofSet))).rejects.toThrow();
});

test("a family reads in its own language what goes, what stays, and when", async () => {
  done(await askErasure(await grant(world.mother, "erasure.ask", "child-1"), { kind: "photo", objectId: "set-photo-2" }, NOW));
  done(await setPhotoAside(await grant(world.therapist, "photo.set-aside", "child-1"), "set-photo-1", NOW));
  database().update(photoSets).set({ photosErasedAt: NOW }).run();
  const english = await html(world.mother, () => ErasePage(ofChild));
  expect(english).toContain("One photo. mother asked on Wed 4 Mar 2026. It is erased on Wed 11 Mar, 10:00.");
  expect(english).toContain("Do not erase this");
  expect(await html(spanish(world.mother), () => ErasePage(ofChild))).toContain("No borrar esto");
  expect(await html(world.mother, () => ErasePhotosPage(ofSet))).toContain("This is asked for already.");
  const history = await html(spanish(world.mother), () => FamilyHistoryPage({ searchParams: Promise.resolve({}) }));
  for (const words of ["Su centro ha apartado de la vista una foto", "Se borraron fotos de este envío", "Las fotos se borran 12 meses después", "Borrar fotos de este envío"]) expect(history).toContain(words);
  await expect(html(world.stranger, () => ErasePage(ofChild))).rejects.toThrow();
});
