import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { auditEntries } from "@/db/schema/machinery";
import { exerciseDrafts, exerciseVersions } from "@/db/schema/teaching";
import { grant } from "@/lib/access/grant";
import type { GivenVerdict } from "@/lib/domain/answering/check-answer";
import { TAKE_BACK_MS } from "@/lib/domain/answering/publication";
import { deskOf } from "@/lib/records/answering";
import { sendAnswer } from "@/lib/records/answers";
import { historyOf } from "@/lib/records/answers-read";
import { exercisesOf } from "@/lib/records/child-exercises";
import { exerciseRows, exerciseShown } from "@/lib/records/exercise-library";
import {
  bringBackExercise, dropExercise, exerciseInHand, keepExercise, retireExercise, saveExercise, startExercise,
} from "@/lib/records/exercise-writing";
import { exerciseOf, taughtKeys } from "@/lib/records/exercises";
import { queueOf } from "@/lib/records/queue";
import { answerReadBack, openReadBacks } from "@/lib/records/read-backs";
import { proposedSetup } from "@/lib/records/setups";
import { standingOf } from "@/lib/records/standing";
import { decide, nextFor } from "@/tests/records/answering-scene";
import { codeOf, deskWorld, done, enter, NOW, refused } from "@/tests/records/desk-scene";
import { change, confirmFor, OWN, sendFor, writing, written } from "@/tests/records/exercise-scene";

let world: ReturnType<typeof deskWorld>;
beforeEach(() => { world = deskWorld(); });
afterEach(() => world.close());

const inHand = async (key: string, who = world.therapist) => exerciseInHand(await writing(who), key);
const reading = (who = world.therapist) => grant(who, "exercise.read", null);
const acts = () => database().select({ act: auditEntries.act, actorId: auditEntries.actorId }).from(auditEntries).all();

describe("an exercise begun", () => {
  it("is a draft of its writer alone, and nothing is taught by it", async () => {
    const { key } = done(await startExercise(await writing(world.therapist), { title: "Long side", from: null }, NOW));
    expect(key).toBe("long-side");
    expect(await inHand(key)).toMatchObject({ basedOn: 0, draftVersion: 1, newest: 0 });
    expect(await inHand(key, world.lead)).toBeNull();
    expect(taughtKeys("practice")).toEqual(["side-lying"]);
    expect((await exerciseRows(await reading())).find((row) => row.key === key)).toMatchObject({ version: 0, isInHand: true, children: 0 });
    expect((await exerciseRows(await reading(world.lead))).map((row) => row.key)).toEqual(["side-lying"]);
  });

  it("never takes the key of another, saved or begun", async () => {
    const keys = [];
    for (const who of [world.therapist, world.lead, world.therapist]) keys.push(done(await startExercise(await writing(who), { title: "Side lying", from: null }, NOW)).key);
    expect(keys).toEqual(["side-lying-2", "side-lying-3", "side-lying-4"]);
    expect(codeOf(await startExercise(await writing(world.therapist), { title: "Copy", from: "nothing" }, NOW))).toBe("form-invalid");
  });

  it("keeps every change, and a second window never overwrites the first", async () => {
    const { key } = done(await startExercise(await writing(world.therapist), { title: "Long side", from: "side-lying" }, NOW));
    const before = await inHand(key);
    if (!before) throw new Error("nothing in hand");
    done(await keepExercise(await writing(world.therapist), key, { ...before, fields: { ...before.fields, title: "From the first window" } }, NOW));
    expect(codeOf(await keepExercise(await writing(world.therapist), key, { ...before, fields: { ...before.fields, title: "From the second" } }, NOW))).toBe("stale-version");
    expect((await inHand(key))?.fields["title"]).toBe("From the first window");
  });

  it("is saved only when the check finds nothing, and is kept when it does", async () => {
    const { key } = done(await startExercise(await writing(world.therapist), { title: "Long side", from: "side-lying" }, NOW));
    const { draftVersion } = done(await change(world.therapist, key, { title: "Lie on the left" }));
    expect(codeOf(await saveExercise(await writing(world.therapist), key, draftVersion, NOW))).toBe("exercise-incomplete");
    expect((await inHand(key))?.fields["title"]).toBe("Lie on the left");
    expect(database().select().from(exerciseVersions).all()).toEqual([]);
    expect(codeOf(await saveExercise(await writing(world.therapist), key, draftVersion - 1, NOW))).toBe("stale-version");
  });

  it("can be dropped", async () => {
    const { key } = done(await startExercise(await writing(world.therapist), { title: "Long side", from: null }, NOW));
    done(await dropExercise(await writing(world.therapist), key, NOW));
    expect(await inHand(key)).toBeNull();
  });
});

describe("a version", () => {
  it("is saved with who and when, and leaves no draft", async () => {
    const key = await written(world.therapist);
    expect(await exerciseShown(await reading(), key, null)).toMatchObject({
      newest: 1, isBuiltIn: false, isRetired: false, history: [{ version: 1, title: OWN["title"], by: "therapist", at: NOW }], children: [],
    });
    expect(exerciseOf("practice", key).items.at(-1)).toEqual({
      key: "top-hip", phase: "position", evidence: ["still"], views: ["behind"], isStop: true, requiredForGo: true, sideDependent: true,
    });
    expect(database().select().from(exerciseDrafts).all()).toEqual([]);
    expect(acts()).toEqual([{ act: "exercise.started", actorId: "therapist" }, { act: "exercise.version-written", actorId: "therapist" }]);
  });

  it("is refused to the second of two who wrote it, whose words stay in hand beside the other's", async () => {
    const key = await written(world.therapist);
    const mine = done(await change(world.therapist, key, { title: "Mine" }));
    const theirs = done(await change(world.lead, key, { title: "Theirs" }));
    done(await saveExercise(await writing(world.lead), key, theirs.draftVersion, NOW + 1));
    expect(codeOf(await saveExercise(await writing(world.therapist), key, mine.draftVersion, NOW + 2))).toBe("exercise-version-taken");
    const kept = await inHand(key);
    expect(kept).toMatchObject({ basedOn: 1, newest: 2, fields: { title: "Mine" } });
    expect((await exerciseShown(await reading(), key, null))?.names.title).toBe("Theirs");
    // Having read theirs, the writer goes on from it.
    if (!kept) throw new Error("nothing in hand");
    const on = done(await keepExercise(await writing(world.therapist), key, { ...kept, basedOn: kept.newest }, NOW + 3));
    expect(done(await saveExercise(await writing(world.therapist), key, on.draftVersion, NOW + 4))).toEqual({ version: 3 });
    expect((await exerciseShown(await reading(), key, null))?.history.map((each) => each.title)).toEqual(["Mine", "Theirs", OWN["title"]]);
    expect((await exerciseShown(await reading(), key, 1))?.names.title).toBe(OWN["title"]);
    expect(await exerciseShown(await reading(), key, 4)).toBeNull();
  });

  it("of the shipped exercise is never written", async () => {
    expect(await inHand("side-lying")).toBeNull();
    expect(codeOf(await saveExercise(await writing(world.therapist), "side-lying", 1, NOW))).toBe("form-invalid");
  });

  it("is another practice's nothing, and no family's to read or write", async () => {
    const key = await written(world.therapist);
    expect(await exerciseShown(await reading(world.outsider), key, null)).toBeNull();
    expect(await inHand(key, world.outsider)).toBeNull();
    expect((await exerciseRows(await reading(world.outsider))).map((row) => row.key)).toEqual(["side-lying"]);
    expect(codeOf(await keepExercise(await writing(world.outsider), key, { fields: {}, basedOn: 1, draftVersion: 0 }, NOW))).toBe("form-invalid");
    expect(codeOf(await retireExercise(await writing(world.outsider), key, NOW))).toBe("form-invalid");
    expect(codeOf(await startExercise(await writing(world.outsider), { title: "Copy", from: key }, NOW))).toBe("form-invalid");
    for (const ability of ["exercise.read", "exercise.write"] as const) expect(await refused(grant(world.mother, ability, null))).toMatch(/404/);
  });
});

describe("retiring", () => {
  it("ends the offer, once, and can be taken back", async () => {
    const key = await written(world.therapist);
    done(await retireExercise(await writing(world.therapist), key, NOW));
    expect(codeOf(await retireExercise(await writing(world.lead), key, NOW))).toBe("stale-version");
    expect(taughtKeys("practice")).not.toContain(key);
    expect((await exerciseShown(await reading(), key, null))?.isRetired).toBe(true);
    done(await bringBackExercise(await writing(world.lead), key, NOW));
    expect(codeOf(await bringBackExercise(await writing(world.lead), key, NOW))).toBe("stale-version");
    expect(taughtKeys("practice")).toContain(key);
  });
});

describe("a therapist's exercise, from writing to a family's go", () => {
  const SET = "11111111-1111-4111-8111-111111111111";

  /** Sends a real photo from a registry package and answers it. */
  async function sendAndAnswer(key: string, setId: string, now: number, given: (itemKey: string) => GivenVerdict["verdict"]) {
    await sendFor(world.mother, key, setId, now);
    const desk = await deskOf(await grant(world.therapist, "answer.write", "child-1"), setId, now);
    if (!desk) throw new Error("no desk");
    const verdicts = desk.set.rows.filter((row) => row.isAsked).map(({ item }): GivenVerdict => {
      const verdict = given(item.key);
      return { itemKey: item.key, verdict, cue: verdict === "fix" ? "Bring the top hip forward." : null, cueId: null };
    });
    done(await sendAnswer(await grant(world.therapist, "answer.write", "child-1"), {
      photoSetId: setId, verdicts, summary: "You lie on the left side, as you should.", nextStep: nextFor(verdicts), nextView: null, marks: [], spans: [], pairs: [], voiceNoteId: null, sideReason: "", wordsConfirmed: false,
    }, now));
    return desk;
  }
  const standing = async (key: string, now: number) => standingOf(await grant(world.mother, "child.read", "child-1"), key, now);

  it("walks the whole way, stops on its own stop item, and keeps to its version", async () => {
    const key = await written(world.therapist);
    decide("child-1", "family-a", "given", 1);
    const { id: recordId } = done(await enter(world.therapist, "child-1"));
    const proposed = await proposedSetup(await grant(world.therapist, "child.read", "child-1"), key);
    expect(proposed.resolution).toMatchObject({ coverage: "covered", setup: { lieOn: "left", prop: { kind: "folded-towel", side: "left" } } });
    await confirmFor(world.therapist, key, recordId);
    expect((await standing(key, NOW)).overall).toBe("photo-first");
    expect((await exerciseShown(await reading(), key, null))?.children).toEqual([{ childId: "child-1", childName: "child-1", version: 1 }]);

    const desk = await sendAndAnswer(key, SET, NOW + 1000, (item) => (item === "top-hip" ? "fix" : "in-place"));
    expect(desk.set.rows.map((row) => row.item.key)).toContain("top-hip");
    const stoppedAt = NOW + 1000 + TAKE_BACK_MS;
    expect((await standing(key, stoppedAt)).overall).toBe("stop");
    expect((await standing(key, stoppedAt)).current.goAhead.reasons[0]).toMatchObject({ code: "stop-item-fix", itemKey: "top-hip", by: "therapist" });
    // The shipped exercise of the same child is not stopped by it.
    expect((await standing("side-lying", stoppedAt)).overall).toBe("not-yet");
    // Nothing about this item can be asked but whether to practise.
    const [asked] = (await openReadBacks(await grant(world.mother, "read-back.answer", "child-1"), stoppedAt)).asked;
    expect(asked).toMatchObject({ exerciseKey: key, question: "practise" });
    done(await answerReadBack(await grant(world.mother, "read-back.answer", "child-1"), { stopId: asked?.stopId ?? "", exerciseKey: key, question: "practise", choice: "no" }, stoppedAt));

    // A second version, which drops that item and has another name, changes nothing of this.
    const items = (await inHand(key))?.fields["items"] ?? "";
    const { draftVersion } = done(await change(world.lead, key, { title: "Another name", items: items.replace(" top-hip", "") }, stoppedAt));
    done(await saveExercise(await writing(world.lead), key, draftVersion, stoppedAt));
    expect((await standing(key, stoppedAt)).overall).toBe("stop");

    const later = stoppedAt + 3_600_000;
    await sendAndAnswer(key, "22222222-2222-4222-8222-222222222222", later, () => "in-place");
    const now = later + TAKE_BACK_MS;
    expect((await standing(key, now)).overall).toBe("go");
    expect((await standing(key, now)).names.title).toBe(OWN["title"]);
    expect((await standing(key, now)).names.cautions).toEqual(["Only after a lesson in person.", "Not on a full stomach."]);
    expect((await historyOf(await grant(world.mother, "child.read", "child-1"), key, now)).map((entry) => entry.names.itemTitle("top-hip"))).toEqual(["Top hip forward", "Top hip forward"]);
    expect((await exerciseShown(await reading(), key, null))?.children).toMatchObject([{ version: 1 }]);
    expect(await exercisesOf(await grant(world.mother, "child.read", "child-1"))).toEqual(["side-lying", key]);
    expect((await queueOf(await grant(world.therapist, "queue.read", null), now)).rows).toEqual([]);
    expect(database().select().from(auditEntries).where(eq(auditEntries.act, "exercise.version-written")).all()).toHaveLength(2);
  });
});
