import * as fc from "fast-check";
import { expect, test } from "vitest";
import { mirrorRecord, patternOf } from "@/lib/domain/curve/record";
import { askedPhoto, isOwed, type SentSet } from "@/lib/domain/sessions/asked-photo";
import { fitOf } from "@/lib/domain/sessions/fit";
import { ALL_PATTERNS, recordOfPattern } from "@/lib/domain/setup/resolve-all";

const at = fc.integer({ min: 0, max: 1000 });
const answer = fc.option(fc.record({ after: fc.integer({ min: 0, max: 50 }), asksForAnother: fc.boolean(), stop: fc.constantFrom("none" as const, "unread" as const, "settled" as const) }), { nil: null });
const sets: fc.Arbitrary<readonly SentSet[]> = fc.uniqueArray(fc.tuple(at, answer), { selector: ([sentAt]) => sentAt, maxLength: 6 })
  .map((all) => all.map(([sentAt, given]) => ({ photoSetId: `s${sentAt}`, sentAt, answer: given && { answeredAt: sentAt + given.after, asksForAnother: given.asksForAnother, stop: given.stop } })));
const facts = fc.record({ askedAt: at, due: fc.integer({ min: 0, max: 500 }), sets, seenLiveAt: fc.option(at, { nil: null }) }).map(({ due, ...rest }) => ({ ...rest, dueAt: rest.askedAt + due }));

test("a photo is owed exactly while no set has come since and the child was not seen live since", () => {
  fc.assert(fc.property(facts, at, (some, now) => {
    const hasCome = some.sets.some((set) => set.sentAt >= some.askedAt);
    const isSeen = some.seenLiveAt !== null && some.seenLiveAt >= some.askedAt;
    expect(isOwed(askedPhoto(some, now).state)).toBe(!hasCome && !isSeen);
  }));
});

test("what was sent before it was asked for changes nothing, and neither does the order of the sets", () => {
  fc.assert(fc.property(facts, sets, at, (some, others, now) => {
    const earlier = others.filter((set) => set.sentAt < some.askedAt);
    expect(askedPhoto({ ...some, sets: [...some.sets, ...earlier].toReversed() }, now)).toEqual(askedPhoto(some, now));
  }));
});

test("an unread stop is never hidden, and nothing is called answered that has no answer", () => {
  fc.assert(fc.property(facts, at, (some, now) => {
    const { state, answeredAt, photoSetId } = askedPhoto(some, now);
    const since = some.sets.filter((set) => set.sentAt >= some.askedAt);
    expect(state === "stop-unread").toBe(since.some((set) => set.answer?.stop === "unread"));
    if (state === "answered" || state === "another" || state === "stop-unread") expect(since.find((set) => set.photoSetId === photoSetId)?.answer?.answeredAt).toBe(answeredAt);
  }));
});

test("no child of the mirror-image pattern, nor of any other, fits a session", () => {
  const setup = { curveRecordId: "r", kind: "rule" } as const;
  const fit = (own: string, session: string) => fitOf({ record: { id: "r", patternKey: own, isPast: false }, setup, isNotCovered: false }, session);
  fc.assert(fc.property(fc.constantFrom(...ALL_PATTERNS), fc.constantFrom(...ALL_PATTERNS), (one, other) => {
    const [own, session] = [recordOfPattern(one), recordOfPattern(other)];
    expect(fit(patternOf(own).key, patternOf(session).key)).toBe(one === other ? "fits" : "other-pattern");
    const mirrored = patternOf(mirrorRecord(own)).key;
    if (patternOf(own).curves.length > 0) expect(fit(mirrored, patternOf(own).key)).toBe("other-pattern");
  }));
});
