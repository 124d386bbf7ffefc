import { describe, expect, it } from "vitest";
import { heldBack } from "@/lib/domain/notices/again";
import { askedPhoto, byNeed, counted, isOwed, type AskedFacts, type SentSet } from "@/lib/domain/sessions/asked-photo";
import { fitOf, type FitFacts } from "@/lib/domain/sessions/fit";
import { isSpokenOf, stageOf } from "@/lib/domain/sessions/group-session";

// What a group session is and when somebody is asked: PRODUCT, section 8; the hours and days are common practice, no source.
const DAY = 86_400_000;
const T = Date.UTC(2026, 2, 3, 17);

describe("a group session", () => {
  it("is to come, under way, closed, or called off when it was closed before it began", () => {
    expect([
      stageOf({ startsAt: T, closedAt: null }, T - 1), stageOf({ startsAt: T, closedAt: null }, T),
      stageOf({ startsAt: T, closedAt: T + DAY }, T + DAY), stageOf({ startsAt: T, closedAt: T - 1 }, T + DAY), stageOf({ startsAt: T, closedAt: T }, T),
    ]).toEqual(["upcoming", "open", "closed", "cancelled", "closed"]);
  });

  it("is spoken of while it matters to that family, and a called-off one until its day has passed", () => {
    const spoken = (decision: "taken-in" | "declined" | null, closedAt: number | null, now: number) => isSpokenOf({ startsAt: T, closedAt }, decision, now);
    expect((["taken-in", "declined", null] as const).map((decision) => spoken(decision, null, T - DAY))).toEqual([true, true, true]);
    expect([spoken("taken-in", null, T + 4 * 3_600_000 - 1), spoken("taken-in", null, T + 4 * 3_600_000), spoken("declined", null, T)]).toEqual([true, false, false]);
    expect([spoken(null, null, T + DAY - 1), spoken(null, null, T + DAY)]).toEqual([true, false]);
    expect([spoken("taken-in", T - 1, T + DAY - 1), spoken("taken-in", T - 1, T + DAY), spoken("declined", T - 1, T - 1)]).toEqual([true, false, false]);
    expect(spoken("taken-in", T + 1, T + 2)).toBe(false);
  });
});

describe("whether a session fits a child", () => {
  const facts: FitFacts = { record: { id: "r2", patternKey: "lumbar-left", isPast: false }, setup: { curveRecordId: "r2", kind: "rule" }, isNotCovered: false };
  const fit = (change: Partial<FitFacts>, pattern = "lumbar-left") => fitOf({ ...facts, ...change }, pattern);

  it("needs the same pattern on a record in force and a set-up by the rules from that very record", () => {
    expect(fit({})).toBe("fits");
    expect(fit({ record: null, setup: null })).toBe("no-record");
    expect(fit({ record: { id: "r2", patternKey: "lumbar-left", isPast: true } })).toBe("record-past");
    expect(fit({}, "lumbar-right")).toBe("other-pattern");
    expect(fit({}, "lumbar-left+thoracic-not-assessed")).toBe("other-pattern");
    expect(fit({ setup: null })).toBe("no-setup");
    expect(fit({ setup: { curveRecordId: "r1", kind: "rule" } })).toBe("no-setup");
    expect(fit({ setup: { curveRecordId: "r2", kind: "individual" } })).toBe("own-setup");
    expect(fit({ isNotCovered: true })).toBe("no-setup");
  });
});

describe("a photo that was asked for", () => {
  const set = (sentAt: number, answer: SentSet["answer"] = null): SentSet => ({ photoSetId: `set-${(sentAt - T) / DAY}`, sentAt, answer });
  const answered = (at: number, change: Partial<NonNullable<SentSet["answer"]>> = {}): SentSet["answer"] => ({ answeredAt: at, asksForAnother: false, stop: "none", ...change });
  const became = (change: Partial<AskedFacts>, now = T + DAY) => askedPhoto({ askedAt: T, dueAt: T + 7 * DAY, sets: [], seenLiveAt: null, ...change }, now);

  it("is late once the due day is over, and not an instant before", () => {
    expect([became({}, T + 7 * DAY - 1).state, became({}, T + 7 * DAY).state]).toEqual(["asked", "late"]);
  });

  it("is sent by a set since it was asked for, and by no earlier one", () => {
    expect(became({ sets: [set(T - DAY, answered(T))] }).state).toBe("asked");
    expect(became({ sets: [set(T), set(T - DAY)] })).toMatchObject({ state: "sent", photoSetId: "set-0", sentAt: T, isLate: false });
    expect(became({ sets: [set(T + 8 * DAY)] }, T + 9 * DAY)).toMatchObject({ state: "sent", isLate: true });
  });

  it("is answered, or needs another photo, by its newest set", () => {
    expect(became({ sets: [set(T, answered(T + 1))] })).toMatchObject({ state: "answered", answeredAt: T + 1, stop: "none" });
    expect(became({ sets: [set(T, answered(T + 1, { asksForAnother: true }))] }).state).toBe("another");
    expect(became({ sets: [set(T, answered(T + 1, { asksForAnother: true })), set(T + DAY)] })).toMatchObject({ state: "sent", photoSetId: "set-1" });
    expect(became({ sets: [set(T + DAY, answered(T + DAY)), set(T, answered(T + 1, { asksForAnother: true }))] }).state).toBe("answered");
  });

  it("shows a stop that nobody read back before anything newer", () => {
    const stopped = set(T, answered(T + 1, { asksForAnother: true, stop: "unread" }));
    expect(became({ sets: [stopped, set(T + DAY)] })).toMatchObject({ state: "stop-unread", photoSetId: "set-0", stop: "unread" });
    expect(became({ sets: [set(T, answered(T + 1, { asksForAnother: true, stop: "settled" }))] }).state).toBe("another");
  });

  it("is owed no more once the child was seen live since", () => {
    expect([became({ seenLiveAt: T - 1 }).state, became({ seenLiveAt: T }, T + 30 * DAY).state]).toEqual(["asked", "seen-live"]);
    const again = [set(T, answered(T + 1, { asksForAnother: true }))];
    expect([became({ sets: again, seenLiveAt: T }).state, became({ sets: again, seenLiveAt: T + 2 }).state]).toEqual(["another", "answered"]);
  });

  it("is counted, and stands by who needs a therapist first", () => {
    const states = ["answered", null, "asked", "stop-unread", "sent", "late", "another", "seen-live"] as const;
    expect(states.toSorted(byNeed)).toEqual(["stop-unread", "late", "another", "sent", "asked", null, "seen-live", "answered"]);
    expect(counted(states)).toEqual({ asked: 7, sent: 4, answered: 3 });
    expect(states.filter((state) => state !== null && isOwed(state))).toEqual(["asked", "late"]);
  });

  it("is held back by a stop first, then by missing consent, then by not yet", () => {
    expect([
      heldBack({ photoConsent: "withdrawn", goAhead: "stop" }), heldBack({ photoConsent: "never", goAhead: "not-yet" }), heldBack({ photoConsent: "given", goAhead: "not-yet" }),
      heldBack({ photoConsent: "given", goAhead: "photo-first" }), heldBack({ photoConsent: "given", goAhead: "go" }),
    ]).toEqual(["stop", "no-consent", "not-yet", null, null]);
  });
});
