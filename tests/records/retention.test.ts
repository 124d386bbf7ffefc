import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, test, vi } from "vitest";
import { database } from "@/db/client";
import { answers, drafts, verdicts } from "@/db/schema/answers";
import { retentionRuns, tombstones } from "@/db/schema/erasure";
import { actsDone, notices } from "@/db/schema/machinery";
import { photoSets, photos } from "@/db/schema/photos";
import { practices } from "@/db/schema/practice";
import { grant } from "@/lib/access/grant";
import { mediaStore } from "@/lib/records/media";
import { setPhotoAside } from "@/lib/records/quarantines";
import { confirmRetention, expiryOf, isRetentionDue, isRetentionHeld, retentionPlan, runRetention } from "@/lib/records/retention";
import { addPicture, addSet, answeringWorld, NOW, send } from "@/tests/records/answering-scene";

const DAY = 86_400_000;
/** 4 March 2027: twelve months after the scene's answers. */
const YEAR = Date.UTC(2027, 2, 4, 12);
let world: ReturnType<typeof answeringWorld>;
let logged: string[];
beforeEach(() => {
  world = answeringWorld();
  logged = [];
  vi.spyOn(process.stderr, "write").mockImplementation((line) => { logged.push(String(line)); return true; });
});
afterEach(() => { vi.restoreAllMocks(); world.close(); });

const run = (now: number) => runRetention(database(), mediaStore(), "practice", now);
const photoCount = () => database().select().from(photos).all().length;
const mails = (kind: string) => database().select({ to: notices.personId }).from(notices).where(eq(notices.kind, kind)).all().map(({ to }) => to).toSorted();
const reading = () => grant(world.lead, "erasures.read", null);
const everyDay = async (from: number, to: number) => { for (let now = from; now < to; now += DAY) await run(now); };

describe("photos that are too old", () => {
  test("are warned of once, shown to their family, and erased 30 days later; verdicts and words stay", async () => {
    addSet("set", { sentAt: NOW - DAY });
    await addPicture("child-1", "set-photo-1", Buffer.from("not looked at"));
    addSet("young", { sentAt: YEAR - 20 * DAY });
    await send(world.therapist, "set");
    await everyDay(YEAR - 60 * DAY, YEAR - 31 * DAY);
    expect([mails("photos-expire"), photoCount()]).toEqual([[], 6]);
    await everyDay(YEAR - 31 * DAY, YEAR);
    expect(mails("photos-expire")).toEqual(["father", "mother"]);
    const expiry = await expiryOf(await grant(world.mother, "child.read", "child-1"), YEAR);
    expect([[...expiry.setIds.keys()], expiry.months]).toEqual([["set"], 12]);
    expect((await expiryOf(await grant(world.mother, "child.read", "child-2"), YEAR)).soonest).toBeNull();
    expect((await retentionPlan(await reading(), YEAR - 2 * DAY)).soon).toMatchObject([{ childName: "child-1", photos: 3 }]);
    await everyDay(YEAR, YEAR + 3 * DAY);
    expect(database().select({ set: photos.photoSetId }).from(photos).all().map(({ set }) => set)).toEqual(["young", "young", "young"]);
    expect([database().select().from(verdicts).all().length, database().select().from(answers).all().length]).toEqual([10, 1]);
    expect(database().select({ voided: photoSets.voidedAt, erased: photoSets.photosErasedAt }).from(photoSets).where(eq(photoSets.id, "set")).get()).toMatchObject({ voided: null });
    expect(database().select().from(tombstones).all().map(({ kind }) => kind)).toEqual(["photo", "photo", "photo"]);
  });

  test("are counted by the practice's own months", async () => {
    addSet("set", { sentAt: NOW - DAY });
    await send(world.therapist, "set");
    database().update(practices).set({ retentionMonths: 24 }).run();
    await everyDay(YEAR - 40 * DAY, YEAR + 5 * DAY);
    expect([mails("photos-expire"), photoCount()]).toEqual([[], 3]);
  });
});

describe("too many at once", () => {
  const many = () => { for (let n = 0; n < 8; n += 1) addSet(`old-${n}`, { sentAt: NOW - n * 60_000 }); };

  test("wait for the lead, who is told each day, sees how many and whose, and lets them go on", async () => {
    many();
    await run(YEAR - 40 * DAY);
    expect(await run(YEAR - 20 * DAY)).toBe("held");
    expect([mails("photos-expire"), mails("retention-held"), photoCount()]).toEqual([[], ["lead"], 24]);
    expect(logged.filter((line) => line.includes("retention-held"))).toHaveLength(1);
    expect(logged.join("")).not.toMatch(/child-1|mother/);
    const plan = await retentionPlan(await reading(), YEAR - 20 * DAY);
    expect([plan.held?.photos, plan.soon, await isRetentionHeld(await reading(), YEAR)]).toMatchObject([24, [{ childName: "child-1", photos: 24 }], true]);
    const confirm = async (seen: number, now: number) => confirmRetention(await grant(world.lead, "retention.confirm", null), { runId: plan.held?.runId ?? "", photos: seen }, now);
    const at = YEAR - 20 * DAY + 60_000;
    expect([(await confirm(23, at)).ok, (await confirm(24, at)).ok, (await confirm(24, at)).ok]).toEqual([false, true, false]);
    expect(isRetentionDue(database(), "practice", at)).toBe(true);
    expect([await run(at + 1), mails("photos-expire")]).toEqual(["done", ["father", "mother"]]);
    // What they were warned of is a mass again when its day comes, and is held again.
    expect([await run(at + 31 * DAY), photoCount()]).toEqual(["held", 24]);
  });

  test("a clock ten years ahead erases nothing, warns nobody, and says nothing once it is right again", async () => {
    addSet("set", { sentAt: NOW - DAY });
    await send(world.therapist, "set");
    await run(NOW);
    const ahead = NOW + 3650 * DAY;
    expect([await run(ahead), await run(ahead + DAY), await run(ahead + 40 * DAY)]).toEqual(["held", "held", "held"]);
    expect([photoCount(), mails("photos-expire")]).toEqual([3, []]);
    expect([isRetentionDue(database(), "practice", NOW + DAY), await run(NOW + DAY), await isRetentionHeld(await reading(), NOW + DAY)]).toEqual([true, "done", false]);
    expect(photoCount()).toBe(3);
  });

  test("only the lead lets them go on", async () => {
    for (const who of [world.therapist, world.mother]) await expect(grant(who, "retention.confirm", null)).rejects.toThrow();
  });
});

test("what was never finished, was taken out, or was sent for the wrong child goes without a warning", async () => {
  addSet("unsent"); addSet("wrong"); addSet("kept"); addSet("aside");
  const db = database();
  db.update(photoSets).set({ sentAt: null }).where(eq(photoSets.id, "unsent")).run();
  db.update(photoSets).set({ voidedAt: NOW, voidReason: "wrong-child" }).where(eq(photoSets.id, "wrong")).run();
  db.update(photos).set({ removedAt: NOW }).where(eq(photos.id, "kept-photo-1")).run();
  await setPhotoAside(await grant(world.therapist, "photo.set-aside", "child-1"), "aside-photo-1", NOW);
  db.insert(drafts).values([{ id: "old", savedAt: NOW }, { id: "new", savedAt: NOW + 5 * DAY }].map((row) => ({ ...row, childId: "child-1", familyId: "family-a", photoSetId: "kept", personId: row.id === "old" ? "therapist" : "colleague", body: "{}", version: 1 }))).run();
  db.delete(actsDone).run();
  db.insert(actsDone).values({ personId: "mother", key: "old", act: "x", result: "null", doneAt: NOW }).run();
  await run(NOW + 2 * DAY);
  expect([photoCount(), database().select().from(drafts).all().length]).toEqual([11, 2]);
  await run(NOW + 31 * DAY);
  expect(db.select({ id: photos.id }).from(photos).all().map(({ id }) => id).toSorted()).toEqual(["aside-photo-1", "aside-photo-2", "aside-photo-3", "kept-photo-2", "kept-photo-3"]);
  expect(db.select({ id: photoSets.id }).from(photoSets).all().map(({ id }) => id).toSorted()).toEqual(["aside", "kept", "wrong"]);
  expect([db.select({ id: drafts.id }).from(drafts).all(), db.select().from(actsDone).all()]).toEqual([[{ id: "new" }], []]);
});

test("it looks once a day", async () => {
  expect(isRetentionDue(database(), "practice", NOW)).toBe(true);
  await run(NOW);
  expect([isRetentionDue(database(), "practice", NOW + DAY / 2), isRetentionDue(database(), "practice", NOW + DAY)]).toEqual([false, true]);
  expect(database().select({ outcome: retentionRuns.outcome }).from(retentionRuns).all()).toEqual([{ outcome: "done" }]);
});
