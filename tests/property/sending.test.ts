import * as fc from "fast-check";
import { expect, it } from "vitest";
import { firstOf, holdsPictures, isDue, nextStep, type Entry } from "@/lib/domain/sending/entry";
import { after as afterAny, LONGEST_WAIT_MS, nextDue, takenOut, takenSaid, waitMs, woken, type Wake } from "@/lib/domain/sending/queue";
import type { Outcome } from "@/lib/domain/sending/reply";

/** What nobody takes out stays, whatever is answered. */
function after(...given: Parameters<typeof afterAny>): Entry {
  const next = afterAny(...given);
  if (!next) throw new Error("it went although nobody took it out");
  return next;
}

const NONE = { noticed: [], isNone: true } as const;
const entryOf = (photos: number, isNoticed: boolean, hasClip: boolean): Entry => ({
  form: 1, id: "set", personId: "parent", childId: "child", exerciseKey: "side-lying", setupId: "setup", called: "", madeAt: 0,
  photos: Array.from({ length: photos }, (_, at) => ({ key: `photo-${at + 1}`, ordinal: at + 1, view: "behind", head: { x: 0.1, y: 0.5 }, facing: "back", isSeenTurnedBack: false, prepared: "{}", photoId: null })),
  report: isNoticed ? { key: "report", tier: "urgent" } : null, finishKey: "finish", taken: null,
  symptoms: { urgent: isNoticed ? { noticed: ["chest-breath-faint"], isNone: false } : NONE, today: NONE }, note: "",
  state: { at: "waiting", because: "new", until: 0 }, tries: 0, restarts: 0,
  ...(hasClip ? { form: 2, clip: { key: "clip", ordinal: photos, bytes: 1, hasArrived: false } } : {}),
});
const entries = fc.tuple(fc.integer({ min: 1, max: 4 }), fc.boolean(), fc.boolean()).map(([photos, isNoticed, hasClip]) => entryOf(photos, isNoticed, hasClip));

const refusals = ["consent-withdrawn", "consent-missing", "record-changed", "side-opposite", "taken-at-missing", "photo-too-large", "photos-missing", "clip-photo-gone", "clip-stopped", "clip-damaged", "set-finished", "photo-limit-day", "not-found", "nobody-foresaw-this"];
const outcomes: fc.Arbitrary<Outcome> = fc.oneof(
  { weight: 6, arbitrary: fc.constant<Outcome>({ kind: "done", photoId: "p" }) },
  { weight: 3, arbitrary: fc.constantFrom<Outcome>({ kind: "line" }, { kind: "server" }) },
  fc.integer({ min: 1, max: 600 }).map((seconds): Outcome => ({ kind: "busy", seconds })),
  fc.constantFrom<Outcome>({ kind: "signed-out" }, { kind: "other-person" }, { kind: "old-page" }),
  fc.constantFrom(...refusals).map((code): Outcome => ({ kind: "refused", code, values: {} })),
);
type Event = { readonly answer: Outcome } | { readonly wake: Wake } | { readonly pass: number };
const events = fc.array(fc.oneof(
  { weight: 5, arbitrary: outcomes.map((answer): Event => ({ answer })) },
  fc.constantFrom<Wake>("opened", "online", "seen", "pressed").map((wake): Event => ({ wake })),
  fc.integer({ min: 0, max: 2_000_000 }).map((pass): Event => ({ pass })),
), { maxLength: 60 });
const chance = fc.double({ min: 0, max: 0.999, noNaN: true });

/** Runs the events as a phone does: a step is asked only when it is due; gives each step asked with what came of it. */
function run(entry: Entry, all: readonly Event[], share: number) {
  let [now, current, keys] = [0, entry, 0];
  const asked: { readonly before: Entry; readonly answer: Outcome; readonly after: Entry; readonly now: number }[] = [];
  for (const event of all) {
    if ("pass" in event) now += event.pass;
    else if ("wake" in event) current = woken(current, event.wake, now);
    else {
      const step = isDue(current, now) ? nextStep(current) : null;
      if (!step) continue;
      const next = after(current, step, event.answer, { now, chance: share, newKey: () => `new-${(keys += 1)}` });
      asked.push({ before: current, answer: event.answer, after: next, now });
      current = next;
    }
  }
  return { current, asked, now };
}

it("finishes only when every photo has arrived, tells what was noticed before all else, and is sent by the server's word alone", () => {
  fc.assert(fc.property(entries, events, chance, (entry, all, share) => {
    for (const { before, answer, after: next } of run(entry, all, share).asked) {
      const step = nextStep(before);
      if (step?.kind === "finish") expect(before.photos.every(({ photoId }) => photoId !== null) && before.report === null).toBe(true);
      if (step?.kind === "finish") expect(before.clip?.hasArrived ?? true).toBe(true);
      if (step?.kind === "clip") expect(before.photos.every(({ photoId }) => photoId !== null)).toBe(true);
      if (step?.kind === "photo") expect(before.report).toBeNull();
      const isWord = (step?.kind === "finish" && answer.kind === "done") || (answer.kind === "refused" && answer.code === "set-finished" && step?.kind !== "report");
      expect(next.state.at === "sent").toBe(isWord);
    }
  }));
});

it("keeps every key until the server says that the photos are gone, and asks for no set but its own", () => {
  fc.assert(fc.property(entries, events, chance, (entry, all, share) => {
    const { asked, current } = run(entry, all, share);
    for (const { before, after: next } of asked) {
      const keysOf = ({ photos, clip, finishKey }: Entry) => [...photos.map(({ key }) => key), ...(clip ? [clip.key] : []), finishKey];
      if (next.restarts === before.restarts) expect(keysOf(next)).toEqual(keysOf(before));
      else expect(new Set([...keysOf(before), ...keysOf(next)]).size).toBe(2 * keysOf(before).length);
    }
    expect(current.restarts).toBeLessThanOrEqual(2);
    expect({ ...current, photos: [], clip: null, report: null, finishKey: "", state: null, tries: 0, restarts: 0, taken: null })
      .toEqual({ ...entry, photos: [], clip: null, report: null, finishKey: "", state: null, tries: 0, restarts: 0, taken: null });
  }));
});

it("loses nothing: pictures go only when it is sent or may never be, and nothing but a person wakes what was refused", () => {
  fc.assert(fc.property(entries, events, chance, fc.constantFrom<Wake>("opened", "online", "seen"), (entry, all, share, wake) => {
    const { current, now } = run(entry, all, share);
    if (!holdsPictures(current)) expect(current.state.at === "sent" || (current.state.at === "refused" && ["consent-withdrawn", "not-found"].includes(current.state.code))).toBe(true);
    if (current.state.at === "refused" || current.state.at === "sent") expect(woken(current, wake, now)).toBe(current);
    if (current.state.at === "sent") expect(woken(current, "pressed", now)).toBe(current);
  }));
});

it("waits longer and longer, never beyond a quarter of an hour, and never comes sooner than a busy server asked", () => {
  fc.assert(fc.property(fc.nat(60), chance, (tries, share) => {
    expect(waitMs(tries, share)).toBeGreaterThanOrEqual(1000);
    expect(waitMs(tries, share)).toBeLessThanOrEqual(LONGEST_WAIT_MS);
    expect(waitMs(tries + 1, share)).toBeGreaterThanOrEqual(waitMs(tries, share));
  }));
  fc.assert(fc.property(entries, fc.integer({ min: 1, max: 3600 }), chance, fc.constantFrom<Wake>("opened", "online", "seen", "pressed"), (entry, seconds, share, wake) => {
    const step = nextStep(entry);
    if (!step) throw new Error("a new set has a step");
    const busy = woken(after(entry, step, { kind: "busy", seconds }, { now: 5, chance: share, newKey: () => "" }), wake, 6);
    expect(nextDue([busy])).toBeGreaterThanOrEqual(5 + seconds * 1000);
  }));
});

it("ends: with a line that always comes back, every set is sent or its refusal stands on the screen", () => {
  fc.assert(fc.property(entries, fc.array(outcomes, { maxLength: 20 }), (entry, bad) => {
    let [current, now] = [entry, 0];
    for (let turn = 0; turn < 60; turn += 1) {
      now += 1_000_000;
      current = woken(current, "opened", now);
      const step = isDue(current, now) ? nextStep(current) : null;
      if (step) current = after(current, step, bad[turn] ?? { kind: "done", photoId: "p" }, { now, chance: 0.5, newKey: () => crypto.randomUUID() });
    }
    expect(["sent", "refused"]).toContain(current.state.at);
  }));
});

it("a decoder that stopped is given two more tries, minutes apart, and then a person looks", () => {
  const stopped: Outcome = { kind: "refused", code: "photo-decoder-stopped", values: {} };
  const waits: number[] = [];
  let [current, now] = [entryOf(1, false, false), 0];
  for (let step = nextStep(current); step && isDue(current, now); step = nextStep(current)) {
    current = after(current, step, stopped, { now, chance: 0.5, newKey: () => "" });
    const next = nextDue([current]) ?? now;
    waits.push(next - now);
    now = next;
  }
  expect(waits).toEqual([48_000, 96_000, 0]);
  expect(current.state).toEqual({ at: "refused", code: "photo-decoder-stopped", values: {}, ordinal: 1 });
});

it("taken out at whatever point, nothing of it stays on the phone, and the server is asked until it says so", () => {
  fc.assert(fc.property(entries, events, chance, fc.array(outcomes, { maxLength: 12 }), (entry, all, share, answers) => {
    const { current, now } = run({ ...entry, called: "Somebody", note: "It pulls." }, all, share);
    const out = takenOut(current, now);
    // What is sent, or may never be, is with the server or nowhere.
    if (!holdsPictures(current)) {
      expect(out).toBeNull();
      return;
    }
    if (!out) throw new Error("the server may have some of it");
    expect(holdsPictures(out)).toBe(false);
    expect(out).toMatchObject({ id: entry.id, personId: entry.personId, called: "", note: "", photos: [], report: null, symptoms: { urgent: { noticed: [] }, today: { noticed: [] } } });
    let [left, at]: [Entry | null, number] = [out, now];
    for (const answer of [...answers, { kind: "done", photoId: null } as const]) {
      if (!left) break;
      at += LONGEST_WAIT_MS * 2;
      left = woken(left, "seen", at);
      const step = isDue(left, at) ? nextStep(left) : null;
      expect(step).toEqual({ kind: "take-out", key: entry.id });
      if (!step) throw new Error("it is due");
      const next = afterAny(left, step, answer, { now: at, chance: share, newKey: () => "" });
      const isOver = answer.kind === "done" || answer.kind === "refused" || answer.kind === "old-page" || at > entry.madeAt + 7 * 86_400_000;
      expect(next === null).toBe(isOver);
      if (next) expect(nextDue([next])).toBeGreaterThan(at);
      left = next;
    }
    expect(left).toBeNull();
  }));
});

it("a photo taken out without a line is told before the set goes on, once, and never in its way", () => {
  fc.assert(fc.property(entries, fc.constantFrom<Outcome>({ kind: "done", photoId: null }, { kind: "refused", code: "set-finished", values: {} }), (entry, answer) => {
    const around = { now: 3, chance: 0, newKey: () => "" };
    const quiet: Entry = { ...entry, report: null, removed: ["gone"] };
    const step = nextStep(quiet);
    expect(step).toEqual({ kind: "remove", key: "gone", photoId: "gone" });
    if (!step) throw new Error("it is asked for");
    expect(nextStep(after(quiet, step, { kind: "line" }, around))).toEqual(step);
    expect(nextStep(after(quiet, step, answer, around))).toMatchObject({ kind: "photo", key: "photo-1" });
  }));
});

it("an old answer to a step that is no longer the next one changes nothing", () => {
  fc.assert(fc.property(entries, outcomes, (entry, outcome) => {
    const step = { kind: "photo", key: "another", photo: entryOf(1, false, false).photos[0] } as const;
    if (!step.photo) throw new Error("one photo was made");
    expect(after(entry, { ...step, photo: step.photo }, outcome, { now: 1, chance: 0, newKey: () => "" })).toBe(entry);
  }));
});

it("what hurts goes first, then the oldest; a refused time is asked of the parent and goes on", () => {
  const plain = { ...entryOf(1, false, false), id: "old", madeAt: 1 };
  const hurt = { ...entryOf(2, true, false), id: "hurt", madeAt: 9 };
  expect(firstOf([plain, hurt])?.id).toBe("hurt");
  expect(firstOf([{ ...plain, id: "newer", madeAt: 5 }, plain])?.id).toBe("old");
  const asked: Entry = { ...plain, state: { at: "refused", code: "taken-at-missing", values: {}, ordinal: null } };
  expect(takenSaid(asked, "earlier-today", 7)).toMatchObject({ taken: "earlier-today", state: { at: "waiting", until: 7 } });
  const changed: Entry = { ...plain, state: { at: "refused", code: "record-changed", values: {}, ordinal: null } };
  expect(woken(changed, "pressed", 7)).toBe(changed);
});
