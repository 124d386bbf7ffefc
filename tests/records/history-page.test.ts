import { eq } from "drizzle-orm";
import { afterAll, beforeAll, expect, it, vi } from "vitest";
import HistoryPage from "@/app/family/history/page";
import { database } from "@/db/client";
import { children, practiceDays } from "@/db/schema/care";
import { growPractice, type Grown } from "@/tests/bench/big-practice";
import { markupOf } from "@/tests/records/markup";
import { makeWorld } from "@/tests/records/world";

const session = vi.hoisted((): { actor: unknown } => ({ actor: null }));
vi.mock("@/lib/access/session", () => ({
  signedIn: async () => session.actor, currentActor: async () => session.actor, readerNow: async () => ({ locale: "en", voice: "carer" }),
}));
vi.mock("next/navigation", async (original) => ({ ...(await original<typeof import("next/navigation")>()), useRouter: () => ({}) }));

const NOW = Date.UTC(2026, 10, 25, 12);
let world: ReturnType<typeof makeWorld>;
let grown: Grown;
/** Of one exercise, the newest first; the family sends others too. */
let all: readonly string[];
beforeAll(() => {
  vi.useFakeTimers({ toFake: ["Date"], now: NOW });
  world = makeWorld();
  grown = growPractice({ families: 1, sets: 100, waiting: 1 }, NOW);
  session.actor = grown.guardian;
  all = database().$client.prepare<[string], string>("select id from photo_sets where child_id = ? and exercise_key = 'side-lying' and sent_at is not null order by sent_at desc").pluck().all(grown.childId);
});
afterAll(() => {
  world.close();
  vi.useRealTimers();
});

async function shownWith(shown?: string | string[]) {
  const markup = await markupOf(await HistoryPage({ searchParams: Promise.resolve(shown === undefined ? {} : { shown }) }));
  const older = [...markup.matchAll(/href="\/family\/history\?shown=(\d+)#set-([^"]+)"/g)].map(([, more, from]) => [more, from]);
  return { sets: [...markup.matchAll(/id="set-([^"]+)"/g)].flatMap(([, id = ""]) => (all.includes(id) ? [id] : [])), older: older.find(([, from = ""]) => all.includes(from)) ?? null, markup };
}
const opened = () => database().$client.prepare<[string, string], string>("select distinct photo_set_id from answers join answer_openings on answer_id = answers.id where person_id = ? and answers.child_id = ?").pluck().all(grown.guardian.personId, grown.childId).filter((id) => all.includes(id));

it("shows the newest twenty sets of an exercise, and older ones by twenty more, from where the page ended", async () => {
  expect(all.length).toBeGreaterThan(40);
  const first = await shownWith();
  expect(first.sets).toEqual(all.slice(0, 20));
  expect(first.older).toEqual(["40", all[19]]);
  // Nobody had before them what the page does not show.
  expect(opened().length).toBeGreaterThan(10);
  expect(opened().filter((id) => !all.slice(0, 20).includes(id))).toEqual([]);
  const more = await shownWith("40");
  expect(more.sets).toEqual(all.slice(0, 40));
  expect(more.older).toEqual(["60", all[39]]);
  const whole = await shownWith("80");
  expect(whole.sets).toEqual(all);
  expect(whole.older).toBeNull();
});

it("says so where the table of items leaves older dates out", async () => {
  expect((await shownWith()).markup).toContain("Every item over time, the newest 20 dates");
  expect((await shownWith("100")).markup).not.toContain("the newest");
});

it("shows a year of days practised, and another with each press, though no older set is left", async () => {
  const child = database().select({ familyId: children.familyId }).from(children).where(eq(children.id, grown.childId)).get();
  database().insert(practiceDays).values({ id: "long-ago", childId: grown.childId, familyId: child?.familyId ?? "", exerciseKey: "side-lying", day: "2024-05-03", personId: grown.guardian.personId, markedAt: 0 }).run();
  const mays = async (shown: string) => /May 2024<\/caption>/.test((await shownWith(shown)).markup);
  expect([await mays("20"), await mays("40"), await mays("60")]).toEqual([false, false, true]);
});

it.each([[""], ["0"], ["-5"], ["nonsense"], [["40", "60"]]])("takes %j for no wish of its own", async (shown) => {
  expect((await shownWith(shown)).sets).toHaveLength(20);
});
