import type { ReactNode } from "react";
import { afterAll, beforeAll, describe, expect, it, vi } from "vitest";
import AnsweringPage from "@/app/desk/children/[childId]/sets/[photoSetId]/page";
import FamiliesPage from "@/app/desk/families/page";
import FamilyPage from "@/app/desk/families/[familyId]/page";
import QueuePage from "@/app/desk/page";
import SessionPage from "@/app/desk/sessions/[sessionId]/page";
import TimesPage from "@/app/desk/times/page";
import HistoryPage from "@/app/family/history/page";
import TodayPage from "@/app/family/page";
import { database } from "@/db/client";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { entryOf, historyOf } from "@/lib/records/answers-read";
import { familiesOf } from "@/lib/records/families";
import { newestAnswer } from "@/lib/records/newest-answer";
import { settleWeeks } from "@/lib/records/settled-times";
import { standings, standingsOf, type StandingLine } from "@/lib/records/standing";
import { growPractice, type Grown } from "@/tests/bench/big-practice";
import { pagesOf, wholePractice } from "@/tests/bench/pages";
import { watched } from "@/tests/bench/watched";
import { markupOf } from "@/tests/records/markup";
import { anyScansOf, plansOf, scansOf } from "@/tests/records/query-plans";
import { makeWorld } from "@/tests/records/world";

const session = vi.hoisted((): { actor: unknown } => ({ actor: null }));
vi.mock("@/lib/access/session", () => ({
  signedIn: async () => session.actor, currentActor: async () => session.actor, readerNow: async () => ({ locale: "en", voice: "carer" }),
}));
// Pages are rendered outside Next, which would bring these.
vi.mock("next/navigation", async (original) => ({ ...(await original<typeof import("next/navigation")>()), useRouter: () => ({}) }));

const NOW = Date.UTC(2026, 10, 25, 12);
let world: ReturnType<typeof makeWorld>;
let grown: Grown;
beforeAll(async () => {
  vi.useFakeTimers({ toFake: ["Date"], now: NOW });
  world = makeWorld();
  grown = growPractice({ families: 40, sets: 500, waiting: 20 }, NOW);
  await settleWeeks(NOW);
}, 60_000);
afterAll(() => {
  world.close();
  vi.useRealTimers();
});

const asked = <T>(value: T) => Promise.resolve(value);
const PAGES: Readonly<Record<string, readonly [keyof Pick<Grown, "lead" | "therapist" | "guardian">, () => Promise<ReactNode>]>> = {
  "to answer": ["therapist", () => QueuePage({ searchParams: asked({}) })],
  "the answering desk": ["therapist", () => AnsweringPage({ params: asked({ childId: grown.childId, photoSetId: grown.photoSetId }), searchParams: asked({}) })],
  "before you start": ["guardian", () => TodayPage()],
  history: ["guardian", () => HistoryPage({ searchParams: asked({}) })],
  "the list of families": ["therapist", () => FamiliesPage({ searchParams: asked({ page: "2" }) })],
  "a family": ["therapist", () => FamilyPage({ params: asked({ familyId: "fam-00000000-0000-4000-8000-000000000000" }) })],
  "a group session": ["therapist", () => SessionPage({ params: asked({ sessionId: grown.sessionId }), searchParams: asked({}) })],
  "answer times": ["lead", () => TimesPage({ searchParams: asked({}) })],
};

// Of each page as it is served, whatever its parts read. The app never gathers statistics, so a small practice is gone about like a large one.
describe.each(Object.entries(PAGES))("%s", (name, [who, page]) => {
  it("reads no table from end to end that grows with the practice", async () => {
    session.actor = grown[who] satisfies Actor;
    let markup = "";
    const plans = await plansOf(async () => { markup = await markupOf(await page()); });
    expect(markup.length).toBeGreaterThan(1000);
    expect(plans.length).toBeGreaterThan(10);
    expect(name === "answer times" ? scansOf(plans) : anyScansOf(plans)).toEqual([]);
  });
});

it("nor does what is measured at scale, or what looks at the whole practice every minute; and no lot begins with every family", async () => {
  for (const [what, work] of Object.entries({ ...pagesOf(grown, NOW), ...wholePractice(grown, NOW) })) {
    const plans = await plansOf(work);
    expect([what, scansOf(plans), what.startsWith("families") ? [] : plans.filter((detail) => detail.endsWith("families_practice (practice_id=?)"))]).toEqual([what, [], []]);
  }
});

it("reads a history and what a card shows of it in as many statements for many sets as for one", async () => {
  const reading = await grant(grown.guardian, "child.read", grown.childId);
  const timesOf = async (work: () => Promise<unknown>) => [...(await watched(work)).statements.values()].reduce((sum, { times }) => sum + times, 0);
  const entries = await historyOf(reading, "side-lying", NOW);
  const [answered] = entries.filter(({ answer }) => answer?.kind === "answer");
  expect(entries.length).toBeGreaterThan(4);
  const one = await timesOf(() => entryOf(reading, answered?.photoSetId ?? "", NOW));
  expect(one).toBeGreaterThan(8);
  // Pairs bring the pictures that they are of, once for an exercise.
  expect(await timesOf(() => historyOf(reading, "side-lying", NOW))).toBeLessThanOrEqual(one + 5);
  expect(await timesOf(() => newestAnswer(reading, "side-lying", [], NOW))).toBeLessThanOrEqual(one + 3);
});

it("says of each child in the list of families what the child's own page says", async () => {
  const reading = await grant(grown.therapist, "families.read", null);
  const { families } = await familiesOf(reading);
  const shown = ({ childId, familyId, childName, exerciseKey, names, record, setup, overall }: StandingLine) => ({ childId, familyId, childName, exerciseKey, title: names.title, record, setup, overall });
  const lines = (await standings(reading, families.map(({ familyId }) => familyId), NOW)).map(shown);
  const own: unknown[] = [];
  for (const { childId } of families.flatMap(({ children }) => children)) own.push(...(await standingsOf(await grant(grown.therapist, "child.read", childId), NOW)).map(shown));
  expect(lines).toEqual(own);
  expect(lines.length).toBeGreaterThan(30);
  expect(new Set(lines.map(({ overall }) => overall))).toEqual(new Set(["go", "go-and-fix", "photo-first", "not-yet", "stop"]));
});

it("gathers no statistics: those of a small practice would lead astray in a large one", () => {
  expect(database().all("select name from sqlite_master where name like 'sqlite_stat%'")).toEqual([]);
});
