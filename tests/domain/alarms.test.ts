import { describe, expect, test } from "vitest";
import { alarmingStates, bursts, BURST_MS, countFrom, isNewState, timesDue, type Counts, type States } from "@/lib/domain/upkeep/alarms";

// The requirement: alarms on 5xx above 1 %, a full disk, a backup older than half an hour, mail that waits for a quarter of an hour, a broken audit chain. The rest of the figures are ours.
const NOW = Date.UTC(2026, 10, 28, 12);
const MINUTE = 60_000;
const DAY = 1440 * MINUTE;
const WELL: States = { check: { at: NOW - 3_600_000, findings: 0, isHistoryBroken: false }, backup: "good", isDiskLow: false, mailLateMs: null, upMs: 30 * DAY };

describe("what alarms", () => {
  const states: readonly [string, Partial<States>, readonly string[]][] = [
    ["all well", {}, []],
    ["no backups are to be made", { backup: "off" }, []],
    ["damage", { check: { at: NOW, findings: 2, isHistoryBroken: false } }, ["folder-damaged"]],
    ["a broken chain, which is more than damage", { check: { at: NOW, findings: 1, isHistoryBroken: true } }, ["history-broken"]],
    ["two days without the daily look", { check: { at: NOW - 2 * DAY - 1, findings: 0, isHistoryBroken: false } }, ["check-missed"]],
    ["never looked, a day and more after the start", { check: null }, ["check-missed"]],
    ["never looked, just started", { check: null, upMs: DAY }, []],
    ["a failed backup, at once", { backup: "failed", upMs: 0 }, ["backup"]],
    ["a backup without some files", { backup: "incomplete", upMs: 0 }, ["backup"]],
    ["a late backup of a server that stood still", { backup: "late", upMs: 10 * MINUTE }, []],
    ["a late backup", { backup: "late", upMs: 46 * MINUTE }, ["backup"]],
    ["no room", { isDiskLow: true }, ["disk-low"]],
    ["mail a quarter of an hour late", { mailLateMs: 15 * MINUTE }, []],
    ["mail later than that", { mailLateMs: 15 * MINUTE + 1 }, ["mail-stuck"]],
    ["two at once", { isDiskLow: true, backup: "failed" }, ["backup", "disk-low"]],
  ];
  test.each(states)("%s", (_name, change, expected) => expect(alarmingStates({ ...WELL, ...change }, NOW)).toEqual(expected));

  const none: Counts = { decoderStopped: 0, signInsRefused: 0, failed: 0, answered: 1000 };
  const counted: readonly [string, Partial<Counts>, readonly string[]][] = [
    ["nothing", {}, []],
    ["four stopped decoders", { decoderStopped: 4 }, []],
    ["five", { decoderStopped: 5 }, ["decoder"]],
    ["29 refused sign-ins", { signInsRefused: 29 }, []],
    ["30", { signInsRefused: 30 }, ["sign-ins"]],
    ["one in a hundred failed", { failed: 10 }, []],
    ["more than one in a hundred", { failed: 11 }, ["errors"]],
    ["four of four, which is too few to say", { failed: 4, answered: 4 }, []],
    ["five of five", { failed: 5, answered: 5 }, ["errors"]],
  ];
  test.each(counted)("%s", (_name, change, expected) => expect(bursts({ ...none, ...change })).toEqual(expected));
});

describe("one thing, one alarm", () => {
  test("an open one is not raised again; one seen to is, after a day, or when it was over meanwhile", () => {
    expect(isNewState(null, 0, NOW)).toBe(true);
    expect(isNewState({ raisedAt: NOW - 9 * DAY, seenAt: null }, NOW - MINUTE, NOW)).toBe(false);
    const seen = { raisedAt: NOW - 2 * DAY, seenAt: NOW - DAY + 1 };
    expect([isNewState(seen, 0, NOW), isNewState(seen, seen.seenAt - 1, NOW), isNewState(seen, seen.seenAt + 1, NOW), isNewState(seen, 0, NOW + 1)]).toEqual([false, false, true, true]);
  });

  test("a burst is counted for ten minutes, and from when somebody saw to the last", () => {
    expect(countFrom(null, NOW)).toBe(NOW - BURST_MS);
    expect(countFrom({ raisedAt: NOW - 5 * MINUTE, seenAt: NOW - MINUTE }, NOW)).toBe(NOW - MINUTE);
    expect(countFrom({ raisedAt: NOW - DAY, seenAt: NOW - DAY }, NOW)).toBe(NOW - BURST_MS);
  });

  test("is told once a day while it is open, seven times in all, and a clock set back tells nothing", () => {
    const since = { raisedAt: NOW, seenAt: null };
    expect([NOW - DAY, NOW, NOW + DAY - 1, NOW + DAY, NOW + 6 * DAY, NOW + 60 * DAY].map((now) => timesDue(since, now))).toEqual([1, 1, 1, 2, 7, 7]);
  });
});
