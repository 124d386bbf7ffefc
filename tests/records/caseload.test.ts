import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import CaseloadPage from "@/app/desk/caseload/page";
import { database } from "@/db/client";
import { careLinks, children, curveRecords, families, setups } from "@/db/schema/care";
import { photoSets } from "@/db/schema/photos";
import { people, practices } from "@/db/schema/practice";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import type { LookedFor } from "@/lib/domain/caseload/reasons";
import { caseloadOf } from "@/lib/records/caseload";
import { openReadBacks, answerReadBack } from "@/lib/records/read-backs";
import { standingsOf } from "@/lib/records/standing";
import { placeStop } from "@/lib/records/stops";
import { unreadStopsOf } from "@/lib/records/unread-stops";
import { chance } from "@/tests/proofs/random";
import { watched } from "@/tests/bench/watched";
import { addSet, addSymptom, answeringWorld, decide, HOUR, NOW, send, verdictsOf } from "@/tests/records/answering-scene";
import { befall } from "@/tests/records/caseload-scene";
import { done, refused } from "@/tests/records/desk-scene";
import { markupOf } from "@/tests/records/markup";
import { plansOf, scansOf } from "@/tests/records/query-plans";

const session = vi.hoisted((): { actor: unknown } => ({ actor: null }));
vi.mock("@/lib/access/session", () => ({ signedIn: async () => session.actor, currentActor: async () => session.actor }));

const DAY = 24 * HOUR;
const CHILDREN = ["child-1", "child-2", "child-3"] as const;

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => {
  vi.useFakeTimers({ toFake: ["Date"], now: NOW });
  world = answeringWorld();
  // Set up last week, so that nobody is late before a test says so.
  database().update(setups).set({ confirmedAt: NOW - 7 * DAY }).run();
});
afterEach(() => {
  world.close();
  vi.useRealTimers();
});

const load = async (now = NOW, weeks: number | null = null, order: "urgency" | "name" = "urgency", who: Actor = world.therapist) =>
  caseloadOf(await grant(who, "caseload.read", null), { weeks, order }, now);
const kinds = async (now = NOW, weeks: number | null = null) =>
  Object.fromEntries((await load(now, weeks)).rows.flatMap(({ childId, reasons }) => (reasons.length > 0 ? [[childId, reasons.map(({ kind }) => kind)]] : [])));
const page = async (query: Readonly<Record<string, string>> = {}, who: Actor = world.therapist) => {
  session.actor = who;
  return markupOf(await CaseloadPage({ searchParams: Promise.resolve(query) }));
};
const place = async (childId: string, now = NOW) =>
  done(await placeStop(await grant(world.therapist, "stop.place", childId), { exerciseKey: null, reason: "Wait for my call.", sideReason: "", wordsConfirmed: false }, now)).id;

describe("the caseload", () => {
  it("is empty on a good day, and lists every child when asked", async () => {
    expect(await kinds()).toEqual({});
    expect((await load()).rows).toHaveLength(3);
    expect(await page()).toContain("Nobody needs looking for");
    expect(await page({ show: "everyone" })).toContain("Nothing to look for.");
  });

  it("finds an unread stop from the first minute until one carer has read it back", async () => {
    await place("child-1", NOW - HOUR);
    expect((await load()).rows[0]).toMatchObject({ childId: "child-1", childName: "child-1", familyName: "family-a", reasons: [{ kind: "unread-stop", since: NOW - HOUR }] });
    const granted = await grant(world.mother, "read-back.answer", "child-1");
    for (const { stopId, exerciseKey, question } of (await openReadBacks(granted, NOW)).asked) done(await answerReadBack(granted, { stopId, exerciseKey, question, choice: "no" }, NOW));
    expect(await kinds()).toEqual({});
  });

  it("finds who is stuck on one item for three judged photos in a row", async () => {
    for (const at of [1, 2, 3]) {
      expect(await kinds(NOW + at * DAY)).toEqual({});
      addSet(`set-${at}`, { sentAt: NOW + at * DAY });
      done(await send(world.therapist, `set-${at}`, { verdicts: verdictsOf("in-place", { stacked: "fix" }) }, NOW + at * DAY + HOUR));
    }
    const { rows: [first] } = await load(NOW + 4 * DAY);
    expect(first).toMatchObject({ childId: "child-1", reasons: [{ kind: "stuck", exerciseKey: "side-lying", itemKey: "stacked", photos: 3 }] });
    addSet("set-4", { sentAt: NOW + 4 * DAY });
    done(await send(world.therapist, "set-4", {}, NOW + 4 * DAY + HOUR));
    expect(await kinds(NOW + 5 * DAY)).toEqual({});
  });

  it("finds who has not sent for the weeks asked for, by what was sent for this child and finished", async () => {
    database().update(setups).set({ confirmedAt: NOW - 60 * DAY }).run();
    addSet("mine", { sentAt: NOW - 6 * DAY });
    addSet("unfinished", { childId: "child-2", sentAt: NOW - DAY });
    database().update(photoSets).set({ sentAt: null }).where(eq(photoSets.id, "unfinished")).run();
    addSet("another-child", { childId: "child-3", sentAt: NOW - DAY });
    database().update(photoSets).set({ voidedAt: NOW, voidReason: "wrong-child" }).where(eq(photoSets.id, "another-child")).run();
    expect(await kinds()).toEqual({ "child-2": ["not-sent"], "child-3": ["not-sent"] });
    expect(Object.keys(await kinds(NOW + DAY, 1)).sort()).toEqual([...CHILDREN]);
    decide("child-2", "family-a", "withdrawn", 2);
    expect(await kinds()).toEqual({ "child-3": ["not-sent"] });
    // The practice's own interval is shorter than three weeks.
    database().update(practices).set({ photoWeeks: 1 }).run();
    expect((await load()).weeks).toBe(1);
  });

  it("says so when consent is not on file: never given, or given before the child came of age", async () => {
    database().update(setups).set({ confirmedAt: NOW - 60 * DAY }).run();
    database().update(children).set({ bornIn: "2000-05" }).where(eq(children.id, "child-1")).run();
    const { rows } = await load();
    expect(rows.map(({ childId, reasons: [first] }) => [childId, first?.kind === "not-sent" && first.hasConsent])).toEqual([["child-1", false], ["child-2", true], ["child-3", true]]);
    expect(await page()).toContain("no consent for photos on file");
  });

  it("finds a record that is missing, over or due, and none whose newer one is not", async () => {
    const by = (childId: string, reassessBy: string | null) => database().update(curveRecords).set({ reassessBy }).where(eq(curveRecords.childId, childId)).run();
    by("child-1", "2026-03-03");
    by("child-2", "2026-03-20");
    by("child-3", null);
    expect((await load()).rows.map(({ reasons: [first] }) => first?.kind === "record" && first.due)).toEqual(["over", "soon", false]);
    const [record] = database().select().from(curveRecords).where(eq(curveRecords.childId, "child-1")).all();
    if (!record) throw new Error("the scene has a record");
    database().insert(curveRecords).values({ ...record, id: "newer", reassessBy: "2026-09-01", sequence: 2 }).run();
    expect(await kinds()).toEqual({ "child-2": ["record"] });
    database().insert(children).values({ id: "child-4", familyId: "family-b", givenName: "child-4", bornIn: "2014-01", createdAt: NOW }).run();
    expect((await load()).rows[0]).toMatchObject({ childId: "child-4", reasons: [{ kind: "record", due: "missing" }] });
  });

  it("puts the most urgent first, or everybody by name", async () => {
    database().update(curveRecords).set({ reassessBy: "2026-03-03" }).where(eq(curveRecords.childId, "child-2")).run();
    addSymptom("dizzy", "child-3", "today", NOW - HOUR);
    expect((await load()).rows.map(({ childId }) => childId)).toEqual(["child-3", "child-2", "child-1"]);
    expect((await load(NOW, null, "name")).rows.map(({ childId }) => childId)).toEqual([...CHILDREN]);
  });

  it("is the practice's own staff's alone, and holds no other practice's children", async () => {
    for (const who of [world.mother, world.stranger]) expect(await refused(load(NOW, null, "urgency", who))).toContain("NEXT_HTTP_ERROR_FALLBACK;404");
    database().insert(practices).values({ id: "elsewhere", name: "Elsewhere", timeZone: "Europe/London", createdAt: 0 }).run();
    database().insert(families).values({ id: "theirs", practiceId: "elsewhere", name: "theirs", createdAt: 0 }).run();
    database().insert(children).values({ id: "their-child", familyId: "theirs", givenName: "their-child", bornIn: "2014-01", createdAt: 0 }).run();
    await place("child-1");
    expect((await load()).rows.map(({ childId }) => childId).sort()).toEqual([...CHILDREN]);
    expect((await load(NOW, null, "urgency", world.outsider)).rows.map(({ childId, reasons }) => [childId, reasons.length])).toEqual([["their-child", 1]]);
  });
});

describe("the page", () => {
  it("says every reason in words, counts each choice, and keeps the choice in the address", async () => {
    database().update(curveRecords).set({ reassessBy: "2026-03-03" }).where(eq(curveRecords.childId, "child-1")).run();
    database().update(setups).set({ confirmedAt: NOW - 30 * DAY }).where(eq(setups.childId, "child-1")).run();
    await place("child-1", NOW);
    const html = await page();
    expect(html).toContain("A stop nobody has read back, since Wed 4 Mar, 10:00.");
    expect(html).toContain("Reassessment was due on Tue 3 Mar 2026: the child waits for it.");
    expect(html).toContain("No photo set yet, 4 weeks after the set-up was confirmed on Mon 2 Feb 2026.");
    expect(html).toMatch(/show=unread-stop[^>]*>Unread stop \(1\)/);
    expect(html).toMatch(/show=everyone[^>]*>Every child \(3\)/);
    const chosen = await page({ show: "not-sent", weeks: "4", order: "name" });
    expect(chosen).toContain("/desk/caseload?show=record&amp;weeks=4&amp;order=name");
    expect(chosen).toMatch(/aria-current="true"[^>]*>Not sent \(1\)|>Not sent \(1\)<\/a>/);
    expect(chosen).toContain('type="hidden" name="show" value="not-sent"');
  });

  it.each([["nothing", {}], ["nonsense", { show: "worst", weeks: "0", order: "score", page: "-1" }], ["too many weeks", { weeks: "53" }]])("takes %s for its own choice", async (_what, query) => {
    const html = await page(query);
    expect(html).toContain("Nobody needs looking for");
    expect(html).toContain('value="3"');
  });

  it("shows fifty at a time, and its last page when asked for one beyond", async () => {
    for (let at = 1; at <= 60; at += 1) database().insert(children).values({ id: `more-${at}`, familyId: "family-b", givenName: `more-${String(at).padStart(2, "0")}`, bornIn: "2014-01", createdAt: 0 }).run();
    const first = await page();
    expect(first.match(/No curve record yet/g)).toHaveLength(50);
    expect(first).toContain("Page 1 of 2");
    expect(first).toContain('href="/desk/caseload?page=2"');
    const last = await page({ page: "99" });
    expect(last.match(/No curve record yet/g)).toHaveLength(10);
    expect(last).toContain("Page 2 of 2");
  });

  it("asks the database as often for many children as for few", async () => {
    const asked = async () => [...(await watched(load)).statements.values()].reduce((sum, { times }) => sum + times, 0);
    await place("child-1");
    // The first look of all is written down, once.
    await load();
    const few = await asked();
    for (let at = 1; at <= 90; at += 1) database().insert(children).values({ id: `more-${at}`, familyId: "family-b", givenName: `more-${at}`, bornIn: "2014-01", createdAt: 0 }).run();
    for (let at = 1; at <= 40; at += 1) await place(`more-${at}`);
    expect((await load()).rows.filter(({ reasons }) => reasons.some(({ kind }) => kind === "unread-stop"))).toHaveLength(41);
    expect(few).toBeGreaterThan(3);
    expect(await asked()).toBe(few);
  });

  it("reads no table that grows with every photo set from end to end", async () => {
    await place("child-1");
    const plans = await plansOf(() => load());
    expect(plans.filter((detail) => detail.includes("verdicts_fix"))).not.toEqual([]);
    expect(scansOf(plans)).toEqual([]);
  });
});

/** The same said child by child, from what the child's own pages read. */
async function naive(childId: string, now: number): Promise<readonly LookedFor[]> {
  const reading = await grant(world.therapist, "child.read", childId);
  const standings = await standingsOf(reading, now);
  const unread = await unreadStopsOf(await grant(world.therapist, "stop.remind", childId), now);
  const sent = database().select().from(photoSets).where(eq(photoSets.childId, childId)).all().filter((set) => set.sentAt !== null && set.voidReason !== "wrong-child");
  const last = sent.reduce<number>((newest, set) => Math.max(newest, set.sentAt ?? 0), 0);
  const since = last > 0 ? last : Math.min(...database().select().from(setups).where(eq(setups.childId, childId)).all().map((setup) => setup.confirmedAt));
  return [
    ...(unread.stops.length > 0 ? ["unread-stop" as const] : []),
    ...(standings.some(({ ledger }) => ledger.some((row) => row.photosAtFix >= 3)) ? ["stuck" as const] : []),
    ...(standings[0]?.photoConsent !== "withdrawn" && now - since >= 21 * DAY ? ["not-sent" as const] : []),
  ];
}

it("says of random children what their own pages say, whatever was amended, taken back, voided or turned to the other side", async () => {
  const seen = { "unread-stop": 0, stuck: 0, "not-sent": 0, none: 0 };
  for (let seed = 1; seed <= 25; seed += 1) {
    const random = chance(seed);
    database().$client.transaction(() => CHILDREN.forEach((childId) => befall(childId, random)))();
    const { rows } = await load(NOW, 3);
    for (const { childId, reasons } of rows) {
      const said = [...new Set(reasons.map(({ kind }) => kind))].filter((kind) => kind !== "record");
      const expected = await naive(childId, NOW);
      expect([seed, childId, said]).toEqual([seed, childId, expected]);
      const [unread] = reasons;
      if (unread?.kind === "unread-stop") expect(unread.since).toBe((await unreadStopsOf(await grant(world.therapist, "stop.remind", childId), NOW)).stops[0]?.since);
      for (const kind of expected) if (kind !== "record") seen[kind] += 1;
      if (expected.length === 0) seen.none += 1;
    }
    world.close();
    world = answeringWorld();
  }
  for (const [kind, times] of Object.entries(seen)) expect(times, kind).toBeGreaterThanOrEqual(3);
});

it("counts a carer who was switched off, or whose link ended, as nobody who has read", async () => {
  await place("child-3");
  const granted = await grant(world.stranger, "read-back.answer", "child-3");
  for (const { stopId, exerciseKey, question } of (await openReadBacks(granted, NOW)).asked) done(await answerReadBack(granted, { stopId, exerciseKey, question, choice: "no" }, NOW));
  expect(await kinds()).toEqual({});
  database().update(people).set({ disabledAt: NOW }).where(eq(people.id, "stranger")).run();
  expect(await kinds()).toEqual({ "child-3": ["unread-stop"] });
  database().update(people).set({ disabledAt: null }).run();
  database().update(careLinks).set({ endedAt: NOW }).where(eq(careLinks.personId, "stranger")).run();
  expect(await kinds()).toEqual({ "child-3": ["unread-stop"] });
});
