import { eq } from "drizzle-orm";
import sharp from "sharp";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { keptFor } from "@/app/api/kept/kept-for";
import { database } from "@/db/client";
import { careLinks, setups } from "@/db/schema/care";
import { clips } from "@/db/schema/clips";
import { mediaFiles } from "@/db/schema/photos";
import { practices } from "@/db/schema/practice";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { photoPoint } from "@/lib/domain/marks/geometry";
import { KEPT_CLIPS, KEPT_VERSION, type Kept, type OnPhone } from "@/lib/domain/kept/kept";
import { KeptForm } from "@/lib/domain/kept/kept.schema";
import { keptReadBacks, keptToday } from "@/lib/domain/kept/today";
import { openSymptomsOf } from "@/lib/records/clearances";
import { answerReadBack, openReadBacks } from "@/lib/records/read-backs";
import { standingsOf } from "@/lib/records/standing";
import { reportSymptoms } from "@/lib/records/symptoms";
import { addPicture, addSet, addSymptom, answeringWorld, decide, HOUR, NOW, send, verdictsOf } from "@/tests/records/answering-scene";
import { addPerson } from "@/tests/records/world";

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => { world = answeringWorld(); });
afterEach(() => world.close());

const LATER = NOW + HOUR;
const DAY = 24 * HOUR;
const onPhone = (kept: Kept): OnPhone => ({ kept, keptAt: kept.checkedAt, seenAt: kept.checkedAt });
const first = <T>(list: readonly T[] | undefined): T => {
  const [one] = list ?? [];
  if (one === undefined) throw new Error("there is none");
  return one;
};
const childIn = (kept: Kept, childId: string) => first(kept.children.filter((each) => each.childId === childId));

/** An answer with a mark on its photo that stops the first child: the prop is wrong. */
async function stopped(): Promise<void> {
  addSet("set");
  await addPicture("child-1", "set-photo-1", await sharp({ create: { width: 64, height: 48, channels: 3, background: "#808080" } }).jpeg().toBuffer());
  const marks = [{ photoId: "set-photo-1", marks: [{ id: "r", kind: "ring" as const, itemKey: null, center: photoPoint(0.5, 0.5), radiusX: 0.2, radiusY: 0.2 }] }];
  const sent = await send(world.therapist, "set", { verdicts: verdictsOf("in-place", { "prop-low-back": "fix" }), marks });
  expect(sent.ok).toBe(true);
}

describe("what a phone is given to keep", () => {
  it("says of each child and exercise what the server says, then and later", async () => {
    addSymptom("s", "child-2", "today", NOW - HOUR);
    addSet("set");
    await send(world.therapist, "set");
    const kept = await keptFor(world.mother, LATER);
    expect(kept.children.map((child) => child.childId).sort()).toEqual(["child-1", "child-2"]);
    for (const now of [LATER, LATER + DAY, LATER + 20 * DAY]) {
      const states = [];
      for (const { childId, exercises } of kept.children) {
        const standings = await standingsOf(await grant(world.mother, "child.read", childId), now);
        const here = exercises.map((exercise) => keptToday(exercise, childId, onPhone(kept), [], now));
        expect(here).toEqual(standings.map(({ phases, current, overall }) => ({ phases, current, overall })));
        states.push(...here.map((each) => each.overall));
      }
      expect(states).toEqual(["go", "stop"]);
    }
  });

  it("holds left and right as resolved, and every sentence the page says", async () => {
    addSet("set");
    await send(world.therapist, "set", { verdicts: verdictsOf("in-place", { "elbow-high": "fix" }) });
    const kept = await keptFor(world.mother, LATER);
    const { setup, sides, instead, itemTitles } = first(childIn(kept, "child-1").exercises);
    // Thoracic right, lumbar left: the child lies on the LEFT (PRODUCT, section 3).
    expect(sides?.lieOn).toBe("left");
    expect(setup?.sideAndProp[0]).toBe("Lie on the LEFT side.");
    expect(setup?.label.down).toBe("down: LEFT");
    expect(instead).toBeNull();
    expect(itemTitles["elbow-high"]).toBe("Elbow high");
    expect(kept.words["kept.offline"]).toBe("You are offline. This page is from {date}. Go online before you start.");
    expect(kept.words["kept.notReached"]).toContain("call Practice.");
    database().update(practices).set({ phone: "01632 960100" }).run();
    expect((await keptFor(world.mother, LATER)).words["kept.notReached"]).toContain("call Practice, 01632 960100.");
    expect(kept.words["family.reason.item-fix"]).toContain("{item}");
    expect(kept.dates[String(LATER)]).toBe("Wed 4 Mar 2026");
    expect(kept.days[0]).toEqual({ from: Date.UTC(2026, 2, 4), said: "Wed 4 Mar 2026" });
    // Summer time begins on 29 March (Europe/London): that day starts as UTC does, the next an hour before it.
    expect((await keptFor(world.mother, Date.UTC(2026, 2, 28))).days.slice(0, 3).map((day) => day.from)).toEqual([Date.UTC(2026, 2, 28), Date.UTC(2026, 2, 29), Date.UTC(2026, 2, 29, 23)]);
    expect(Object.values(kept.names)).toEqual(["therapist"]);
  });

  it("is each person's own: a guardian of one child, another family, somebody without a child", async () => {
    await stopped();
    expect((await keptFor(world.father, LATER)).children.map((child) => child.childId)).toEqual(["child-1"]);
    const other = JSON.stringify(await keptFor(world.stranger, LATER));
    expect(other).toContain("child-3");
    expect(other).not.toMatch(/child-1|child-2|family-a|mother|set-photo/);
    const nobody: Actor = addPerson("nobody", "guardian");
    expect((await keptFor(nobody, LATER)).children).toEqual([]);
    database().update(careLinks).set({ endedAt: LATER }).where(eq(careLinks.id, "father-child-1")).run();
    expect((await keptFor(world.father, LATER)).children).toEqual([]);
  });

  it("names the marked picture while it may be seen; withdrawn consent closes it, and the stop stays", async () => {
    await stopped();
    const before = await keptFor(world.mother, LATER);
    expect(first(childIn(before, "child-1").exercises).picture?.address).toBe("/media/child-1/set-photo-1/marked");
    decide("child-1", "family-a", "withdrawn", 9);
    const after = await keptFor(world.mother, LATER);
    expect(first(childIn(after, "child-1").exercises).picture).toBeNull();
    const today = keptToday(first(childIn(after, "child-1").exercises), "child-1", onPhone(after), [], LATER);
    expect(today.overall).toBe("stop");
    expect(today.current.goAhead.photoChecksOff).toBe(true);
  });
});

describe("a clip to be kept", () => {
  async function answeredWithClip(byteLength: number, nth = 1): Promise<void> {
    addSet(`set-${nth}`);
    const of = { childId: "child-1", familyId: "family-a", photoId: `set-${nth}-photo-1`, width: 240, height: 320, storedAt: NOW };
    database().insert(clips).values({ ...of, id: `clip-${nth}`, container: "mp4", codec: "avc", durationMs: 2000, frames: 30, mirroredFlag: false, takenAt: null, receivedBytes: 9, receivedSha256: "x" }).run();
    database().insert(mediaFiles).values({ ...of, fileId: `file-${nth}`, kind: "clip", byteLength, sha256: "x", keyId: "k" }).run();
    expect((await send(world.therapist, `set-${nth}`)).ok).toBe(true);
  }
  const clipKept = async () => first(childIn(await keptFor(world.mother, LATER), "child-1").exercises).clip;

  it("is the one that the newest answer is about, with its words", async () => {
    await answeredWithClip(KEPT_CLIPS.maxBytes);
    expect(await clipKept()).toEqual({
      address: "/media/child-1/set-1-photo-1/clip", title: "Clip, 2 s, from behind", width: 240, height: 320, frames: 30, durationMs: 2000, isTurnedBack: false, turns: 0,
      about: "Your clip of Wed 4 Mar 2026, which the newest answer is about. It shows how it was then: do what is written above.",
      instead: "Your clip of Wed 4 Mar 2026 is not kept on this phone. It opens with signal, under \"History\".",
    });
    expect((await keptFor(world.mother, LATER)).words["clip.times"]).toBe("{n} times");
    expect((await keptFor(world.stranger, LATER)).children.flatMap(({ exercises }) => exercises).every(({ clip }) => clip === null)).toBe(true);
  });

  it("is said not to be kept where it is too large", async () => {
    await answeredWithClip(KEPT_CLIPS.maxBytes + 1);
    expect(await clipKept()).toMatchObject({ address: null, instead: expect.stringContaining("It opens with signal") });
  });

  it("closes with the consent, and is none once the set-up is another or the newest answer has none", async () => {
    await answeredWithClip(1000);
    decide("child-1", "family-a", "withdrawn", 9);
    expect(await clipKept()).toBeNull();
    decide("child-1", "family-a", "given", 10);
    expect(await clipKept()).not.toBeNull();
    database().update(setups).set({ confirmedAt: LATER }).where(eq(setups.childId, "child-1")).run();
    expect(await clipKept()).toBeNull();
  });
});

describe("a stop's question without signal", () => {
  it("is the server's own, for this person, and is judged as the server judges it", async () => {
    await stopped();
    addSymptom("s", "child-1", "urgent", NOW);
    for (const who of [world.mother, world.father]) {
      const kept = await keptFor(who, LATER);
      const here = keptReadBacks(childIn(kept, "child-1"), []);
      const there = (await openReadBacks(await grant(who, "read-back.answer", "child-1"), LATER)).asked;
      expect(here.map(({ right: _right, ...asked }) => asked)).toEqual(there);
      expect(here.map(({ question, right }) => [question, right])).toEqual([["practise", "no"], ["prop", "low-back"]]);
      const prop = first(here.filter((each) => each.question === "prop"));
      for (const choice of ["hip", "low-back"]) {
        const judged = await answerReadBack(await grant(who, "read-back.answer", "child-1"), { ...prop, choice }, LATER);
        expect(judged).toEqual({ ok: true, value: { isRight: choice === prop.right } });
      }
      const later = await keptFor(who, LATER);
      expect(keptReadBacks(childIn(later, "child-1"), []).map(({ question }) => question)).toEqual(["practise"]);
    }
  });

  it("is answered here until a wrong answer; then it stands, and says so", async () => {
    await stopped();
    const child = childIn(await keptFor(world.mother, LATER), "child-1");
    const { stopId, question } = first(keptReadBacks(child, []));
    expect(keptReadBacks(child, [{ stopId, question, isRight: false }])).toMatchObject([{ stopId, wasWrong: true }]);
    expect(keptReadBacks(child, [{ stopId, question, isRight: false }, { stopId, question, isRight: true }])).toEqual([]);
  });
});

describe("a report that comes late and twice", () => {
  it("is one report, and staff read when it was written down", async () => {
    const key = "00000000-0000-4000-8000-000000000001";
    const report = async () => reportSymptoms(await grant(world.mother, "symptom.report", "child-1", key), { noticed: ["dizzy"], note: "", photoSetId: null, waitedMs: 3 * 3_600_000 }, LATER);
    expect(await report()).toEqual(await report());
    const { facts } = first(childIn(await keptFor(world.mother, LATER), "child-1").exercises);
    expect(facts.symptomStops).toHaveLength(1);
    // It counts from when it came: nobody could have known before.
    expect(await openSymptomsOf(await grant(world.therapist, "symptom.clear", "child-1"))).toMatchObject([{ reportedAt: LATER, writtenAt: LATER - 3 * 3_600_000 }]);
  });
});

describe("the form of what is kept", () => {
  it("refuses another version, anything beside it, a missing sentence, and pictures without consent", async () => {
    await stopped();
    const kept = await keptFor(world.mother, LATER);
    expect(KeptForm.safeParse(kept).success).toBe(true);
    expect(KeptForm.safeParse(JSON.parse(JSON.stringify(kept))).success).toBe(true);
    const isRefused = (path: readonly (string | number)[], to: unknown): boolean => {
      const copy: unknown = structuredClone(kept);
      const holder = path.slice(0, -1).reduce<unknown>((at, key) => (at as Readonly<Record<string | number, unknown>>)[key], copy) as Record<string | number, unknown>; // every step is there
      holder[path.at(-1) ?? ""] = to;
      return !KeptForm.safeParse(copy).success;
    };
    const one = ["children", 0, "exercises", 0] as const;
    expect(isRefused(["version"], KEPT_VERSION)).toBe(false);
    expect(isRefused(["version"], KEPT_VERSION + 1)).toBe(true);
    expect(isRefused([...one, "facts", "note"], "private")).toBe(true);
    expect(isRefused(["words", "family.state.stop"], undefined)).toBe(true);
    expect(isRefused([...one, "facts", "photoConsent"], "withdrawn")).toBe(true);
    expect(isRefused([...one, "picture", "address"], "https://elsewhere.example/x")).toBe(true);
    expect(isRefused([...one, "sides", "topArm", "side"], "left")).toBe(true);
    expect(isRefused([...one, "setup", "sideAndProp"], [])).toBe(true);
    expect(isRefused([...one, "setup"], null)).toBe(true);
    expect(isRefused(["checkedAt"], Number.NaN)).toBe(true);
  });
});
