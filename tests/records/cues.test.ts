import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { eq } from "drizzle-orm";
import { givenVerdicts } from "@/app/desk/children/[childId]/sets/[photoSetId]/given-verdicts";
import { offeredCues, savedOf } from "@/app/desk/children/[childId]/sets/[photoSetId]/offered-cues";
import { database } from "@/db/client";
import { verdicts } from "@/db/schema/answers";
import { auditEntries } from "@/db/schema/machinery";
import { people, practices } from "@/db/schema/practice";
import { cues } from "@/db/schema/teaching";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { deskOf } from "@/lib/records/answering";
import { cuesFor, libraryOf, retireCue, returnCue, saveCue, type CueInput } from "@/lib/records/cues";
import { historyOf } from "@/lib/records/answers-read";
import { standingOf } from "@/lib/records/standing";
import { addSet, answeringWorld, EXERCISE, HOUR, NOW, send, verdictsOf } from "@/tests/records/answering-scene";
import { codeOf, done, refused } from "@/tests/records/desk-scene";

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => {
  world = answeringWorld();
});
afterEach(() => world.close());

const DAY = 24 * HOUR;
const ITEM = "elbow-high";
const KEY = "elbow-high.higher";
const read = async (who: Actor = world.therapist, now = NOW) => libraryOf(await grant(who, "cues.read", null), EXERCISE, now);
const offered = async (who: Actor = world.therapist, now = NOW) => cuesFor(await grant(who, "cues.read", null), EXERCISE, [ITEM], now);
const write = (who: Actor, once: string | null = null) => grant(who, "cues.write", null, once);
const input = (change: Partial<CueInput> = {}): CueInput => ({ exerciseKey: EXERCISE, itemKey: ITEM, id: null, words: "Top arm ({top arm side}): up, so that the ribs open.", version: 0, ...change });
const save = async (change: Partial<CueInput> = {}, who: Actor = world.therapist, now = NOW) => saveCue(await write(who), input(change), now);
const cue = async (id: string, who?: Actor, now = NOW) => (await read(who, now)).find((each) => each.id === id);
const ref = (id: string, version: number) => ({ exerciseKey: EXERCISE, id, version });

describe("the library", () => {
  it("starts as shipped, in shipped order, and holds no row", async () => {
    expect((await offered()).map((each) => each.id)).toEqual([KEY, "elbow-high.no-drop"]);
    expect(await cue(KEY)).toMatchObject({ version: 0, isRetired: false, changedAt: null, changedBy: null, timesUsed: 0 });
    expect(database().select().from(cues).all()).toEqual([]);
  });

  it("lays a change over the shipped cue, under the same key, and keeps the shipped words to compare", async () => {
    const shipped = (await cue(KEY))?.words;
    expect(done(await save({ id: KEY, words: "Lift the top elbow ({top arm side})." }))).toEqual({ id: KEY });
    expect(await cue(KEY)).toMatchObject({ words: "Lift the top elbow ({top arm side}).", shipped, version: 1, changedAt: NOW, changedBy: "therapist" });
    done(await save({ id: KEY, words: "Top elbow ({top arm side}) up.", version: 1 }, world.colleague, NOW + 1));
    expect(await cue(KEY)).toMatchObject({ words: "Top elbow ({top arm side}) up.", version: 2, changedBy: "colleague" });
    expect((await offered()).map((each) => each.id)).toEqual([KEY, "elbow-high.no-drop"]);
    expect(database().select().from(cues).all()).toHaveLength(1);
  });

  it("takes cues of their own after the shipped ones", async () => {
    const { id } = done(await save());
    expect((await offered()).map((each) => each.id)).toEqual([KEY, "elbow-high.no-drop", id]);
    expect(await cue(id)).toMatchObject({ shipped: null, version: 1, changedBy: "therapist" });
    done(await save({ id, words: "Top elbow high.", version: 1 }, world.therapist, NOW + 1));
    expect(await cue(id)).toMatchObject({ words: "Top elbow high.", version: 2, changedAt: NOW + 1 });
  });

  it("retires and returns, shipped or own, and keeps the words", async () => {
    const { id } = done(await save());
    for (const [which, version] of [[KEY, 0], [id, 1]] as const) {
      const before = await cue(which);
      done(await retireCue(await write(world.therapist), ref(which, version), NOW));
      expect((await offered()).map((each) => each.id)).not.toContain(which);
      expect(await cue(which)).toMatchObject({ words: before?.words, isRetired: true, version: version + 1, changedAt: before?.changedAt });
      done(await returnCue(await write(world.therapist), ref(which, version + 1), NOW));
      expect((await offered()).map((each) => each.id)).toContain(which);
    }
  });

  it("refuses what no cue may be, and what belongs nowhere", async () => {
    for (const [change, code] of [
      [{ words: " " }, "cue-empty"], [{ words: "Lift {the arm}" }, "cue-placeholder-unknown"], [{ words: "Lift the left arm" }, "cue-side-typed"],
      [{ words: "Bottom arm ({top arm side})" }, "cue-side-disagree"], [{ words: "x".repeat(281) }, "cue-too-long"], [{ words: "Lift\u202E it" }, "cue-characters"],
      [{ itemKey: "hop" }, "form-invalid"], [{ exerciseKey: "hop" }, "form-invalid"], [{ id: "nothing" }, "form-invalid"],
      [{ id: "side-down.turn-over", words: "Turn." }, "form-invalid"],
    ] as const) expect(codeOf(await save(change)), JSON.stringify(change)).toBe(code);
    expect(database().select().from(cues).all()).toEqual([]);
    done(await save());
    expect(codeOf(await save())).toBe("cue-there-already");
  });

  it("holds both versions in hand when two change the same one", async () => {
    const { id } = done(await save());
    for (const which of [KEY, id]) {
      const version = (await cue(which))?.version ?? 0;
      done(await save({ id: which, words: `Theirs, ${which}.`, version }, world.colleague));
      expect(await save({ id: which, words: "Mine.", version })).toMatchObject({ ok: false, problem: { code: "cue-changed", values: { theirs: `Theirs, ${which}.`, version: version + 1 } } });
      expect(codeOf(await retireCue(await write(world.therapist), ref(which, version), NOW))).toBe("cue-changed");
      expect(await cue(which)).toMatchObject({ words: `Theirs, ${which}.`, isRetired: false });
    }
  });

  it("writes each change down once, and a repeated act changes nothing", async () => {
    const once = crypto.randomUUID();
    const first = done(await saveCue(await write(world.therapist, once), input(), NOW));
    expect(done(await saveCue(await write(world.therapist, once), input(), NOW))).toEqual(first);
    done(await retireCue(await write(world.therapist), ref(first.id, 1), NOW));
    done(await returnCue(await write(world.therapist), ref(first.id, 2), NOW));
    const acts = database().select({ act: auditEntries.act, objectId: auditEntries.objectId, actorId: auditEntries.actorId }).from(auditEntries).all();
    expect(acts).toEqual(["cue.saved", "cue.retired", "cue.returned"].map((act) => ({ act, objectId: first.id, actorId: "therapist" })));
  });
});

describe("who reaches it", () => {
  it("is the staff's", async () => {
    for (const who of [world.mother, world.stranger]) for (const ability of ["cues.read", "cues.write"] as const) {
      expect(await refused(grant(who, ability, null))).toMatch(/404/);
    }
  });

  it("is each practice's own: no other reads, changes, retires or counts in it", async () => {
    database().insert(practices).values({ id: "elsewhere", name: "Elsewhere", timeZone: "Europe/London", createdAt: 0 }).run();
    database().insert(people).values({ id: "outsider", practiceId: "elsewhere", role: "therapist", email: "o@people.example", name: "outsider", createdAt: 0 }).run();
    const outsider: Actor = { ...world.outsider, personId: "outsider" };
    const { id } = done(await save());
    done(await save({ id: KEY, words: "Ours." }));
    addSet("set");
    done(await send(world.therapist, "set", { verdicts: verdictsOf("in-place", { [ITEM]: "fix" }).map((each) => (each.itemKey === ITEM ? { ...each, cue: "Ours.", cueId: KEY } : each)) }));
    expect(await cue(id, outsider)).toBeUndefined();
    expect(await cue(KEY, outsider, NOW + 60_000)).toMatchObject({ version: 0, timesUsed: 0 });
    const published = NOW + 60_000;
    expect(await cue(KEY, world.therapist, published)).toMatchObject({ timesUsed: 1 });
    expect(await cue(KEY, world.therapist)).toMatchObject({ timesUsed: 0 });
    expect(codeOf(await save({ id, version: 1, words: "Theirs." }, outsider))).toBe("form-invalid");
    expect(codeOf(await retireCue(await write(outsider), ref(id, 1), NOW))).toBe("form-invalid");
    done(await save({ id: KEY, words: "Theirs." }, outsider));
    done(await retireCue(await write(outsider), ref(KEY, 1), NOW));
    expect(await cue(KEY)).toMatchObject({ words: "Ours.", version: 1, isRetired: false });
    expect(await cue(KEY, outsider)).toMatchObject({ words: "Theirs.", isRetired: true });
  });
});

/** The checklist's fields as the form sends them, and the verdicts they mean. */
async function mean(fields: Readonly<Record<string, string>>, now = NOW) {
  const desk = await deskOf(await grant(world.therapist, "answer.write", "child-1"), "set", now);
  if (!desk) throw new Error("the set is there");
  const { exerciseKey, resolution, rows } = desk.set;
  return givenVerdicts(world.therapist, { exerciseKey, setup: resolution.setup, rows }, (name) => ({ cuesReadAt: String(NOW), ...fields })[name] ?? "", now);
}
const only = async (fields: Readonly<Record<string, string>>) => done(await mean({ [`verdict.${ITEM}`]: "fix", ...fields })).find((each) => each.itemKey === ITEM);

describe("a cue in an answer", () => {
  beforeEach(() => {
    addSet("set");
  });

  it("is chosen by its id, filled by the server, and stored with it; own words follow", async () => {
    expect(await only({ [`cue.${ITEM}`]: KEY })).toEqual({ itemKey: ITEM, verdict: "fix", cue: "Top arm (RIGHT): lift the elbow higher, so that the ribs can open.", cueId: KEY });
    done(await save({ words: "Elbow up" }, world.therapist, NOW - 1));
    const own = (await offered()).at(-1)?.id ?? "";
    expect(await only({ [`cue.${ITEM}`]: own, [`words.${ITEM}`]: " As last week. " })).toMatchObject({ cue: "Elbow up. As last week.", cueId: own });
    expect(await only({ [`cue.${ITEM}`]: "none", [`words.${ITEM}`]: "Higher." })).toMatchObject({ cue: "Higher.", cueId: null });
    expect(await only({})).toMatchObject({ cue: null, cueId: null });
    const judged = done(await mean({ [`verdict.${ITEM}`]: "in-place", [`cue.${ITEM}`]: KEY, rest: "yes" }));
    expect(judged.find((each) => each.itemKey === ITEM)).toEqual({ itemKey: ITEM, verdict: "in-place", cue: null, cueId: null });
    expect(judged.map((each) => each.itemKey)).not.toContain("side-down");
  });

  it("reaches the family as it was said, whatever becomes of the library", async () => {
    const fix = { [`verdict.${ITEM}`]: "fix", "verdict.side-down": "in-place", "verdict.prop-low-back": "in-place", rest: "yes", [`cue.${ITEM}`]: KEY };
    done(await send(world.therapist, "set", { verdicts: done(await mean(fix)) }));
    expect(database().select({ cueId: verdicts.cueId }).from(verdicts).where(eq(verdicts.itemKey, ITEM)).all()).toEqual([{ cueId: KEY }]);
    done(await save({ id: KEY, words: "Other words." }, world.colleague, NOW + 1));
    done(await retireCue(await write(world.colleague), ref(KEY, 1), NOW + 2));
    const reading = await grant(world.mother, "child.read", "child-1");
    const said = "Top arm (RIGHT): lift the elbow higher, so that the ribs can open.";
    const [entry] = await historyOf(reading, EXERCISE, NOW + 60_000);
    expect(entry?.answer?.verdicts.find((each) => each.itemKey === ITEM)?.cue).toBe(said);
    const standing = await standingOf(reading, EXERCISE, NOW + 60_000);
    expect(JSON.stringify(standing)).toContain(said);
    expect(JSON.stringify(standing)).not.toContain("Other words.");
  });

  it("is refused when its words changed after they were read, and only then", async () => {
    done(await retireCue(await write(world.colleague), ref(KEY, 0), NOW + 1));
    expect(await only({ [`cue.${ITEM}`]: KEY })).toMatchObject({ cueId: KEY });
    done(await save({ id: "elbow-high.no-drop", words: "Changed." }, world.colleague, NOW + 1));
    const chosen = { [`verdict.${ITEM}`]: "fix", [`cue.${ITEM}`]: "elbow-high.no-drop" };
    expect(await mean(chosen)).toMatchObject({ ok: false, problem: { code: "cue-changed-since", field: `cue.${ITEM}` } });
    expect(codeOf(await mean({ ...chosen, cuesReadAt: "" }))).toBe("cue-changed-since");
    expect(codeOf(await mean({ ...chosen, cuesReadAt: String(NOW + 2) }))).toBe("done");
  });

  it("is refused when there is no such cue of this item, by another practice's id too", async () => {
    for (const id of ["nothing", "side-down.turn-over", "A text of an older draft."]) {
      expect(await mean({ [`verdict.${ITEM}`]: "fix", [`cue.${ITEM}`]: id })).toMatchObject({ ok: false, problem: { code: "form-invalid", field: `cue.${ITEM}` } });
    }
  });

  it("is offered in the order of use over the last year", async () => {
    const use = (id: string, at: number, n: number) => database().insert(verdicts).values(Array.from({ length: n }, () => ({
      childId: "child-1", familyId: "family-a", answerId: null, seenLiveId: null, exerciseKey: EXERCISE, itemKey: ITEM, isStop: false,
      verdict: "fix" as const, cue: "x", cueId: id, sidesKey: "x", judgedBy: "therapist", judgedAt: at,
    })));
    database().$client.pragma("foreign_keys = off");
    database().$client.pragma("ignore_check_constraints = on");
    use("elbow-high.no-drop", NOW - 300 * DAY, 2).run();
    use(KEY, NOW - 366 * DAY, 9).run();
    use(KEY, NOW - DAY, 1).run();
    expect((await offered()).map((each) => [each.id, each.timesUsed])).toEqual([["elbow-high.no-drop", 2], [KEY, 1]]);
    expect((await offered(world.therapist, NOW + 70 * DAY)).map((each) => [each.id, each.timesUsed])).toEqual([[KEY, 1], ["elbow-high.no-drop", 0]]);
  });
});

describe("the desk's fields", () => {
  const setup = async () => {
    addSet("set");
    const desk = await deskOf(await grant(world.therapist, "answer.write", "child-1"), "set", NOW);
    if (!desk) throw new Error("the set is there");
    return desk.set.resolution.setup;
  };

  it("offer what fits the set-up, sides filled in, and a retired cue only to the draft that holds it", async () => {
    const sides = await setup();
    done(await retireCue(await write(world.therapist), ref(KEY, 0), NOW));
    expect(offeredCues(await read(), ITEM, sides, undefined).map((each) => each.id)).toEqual(["elbow-high.no-drop"]);
    expect(offeredCues(await read(), ITEM, sides, KEY).map((each) => each.id)).toContain(KEY);
    expect(offeredCues(await read(), "ribs-wide", { ...sides, breatheInto: null }, undefined).map((each) => each.id)).toEqual(["ribs-wide.until-gone", "ribs-wide.slow-leak"]);
    expect(offeredCues(await read(), "side-down", sides, undefined)[0]?.words).toMatch(/lie on the LEFT side/);
  });

  it("move the text of an older draft into the free line, and choose nothing by guess", async () => {
    const library = await read();
    const fields = { [`verdict.${ITEM}`]: "fix", [`cue.${ITEM}`]: "Lift the elbow.", [`words.${ITEM}`]: "Please." };
    expect(savedOf(library, ITEM, fields)).toEqual({ [`verdict.${ITEM}`]: "fix", [`words.${ITEM}`]: "Lift the elbow. Please." });
    expect(savedOf(library, ITEM, { ...fields, [`cue.${ITEM}`]: KEY })).toEqual({ ...fields, [`cue.${ITEM}`]: KEY });
    expect(savedOf(library, ITEM, {})).toEqual({});
  });
});
