import { describe, expect, test } from "vitest";
import { backupDue } from "@/lib/domain/backup/due";
import { backupStanding } from "@/lib/domain/backup/standing";

const NOW = Date.UTC(2026, 10, 27, 12);
const MINUTE_MS = 60_000;

// Ours: a quarter of an hour between backups, and half an hour until it is said that one is missing.
describe("how backups stand", () => {
  const good = { isScheduled: true, currentAt: NOW - 5 * MINUTE_MS, fault: null, lost: 0 };
  test.each([
    ["not told to make any", { ...good, isScheduled: false, currentAt: null }, "off"],
    ["as they should", good, "good"],
    ["half an hour old", { ...good, currentAt: NOW - 30 * MINUTE_MS }, "good"],
    ["older than that", { ...good, currentAt: NOW - 31 * MINUTE_MS }, "late"],
    ["never made", { ...good, currentAt: null }, "late"],
    ["made by a clock that was set back since", { ...good, currentAt: NOW + 31 * MINUTE_MS }, "late"],
    ["failed, however young the newest", { ...good, fault: "disk-full" }, "failed"],
    ["without anybody having seen the key", { ...good, currentAt: null, fault: "key-missing" }, "no-key"],
    ["without files that the practice lost", { ...good, lost: 2 }, "incomplete"],
    ["late and incomplete: late is said", { ...good, currentAt: NOW - 40 * MINUTE_MS, lost: 2 }, "late"],
  ] as const)("%s", (_name, facts, expected) => expect(backupStanding(facts, NOW)).toBe(expected));
});

describe("when a backup is due", () => {
  const kept = { madeAt: NOW - 60 * MINUTE_MS, triedAt: NOW - 60 * MINUTE_MS, hasFailed: false, isChanged: false, isErased: false };
  const tried = (minutes: number) => ({ madeAt: NOW - minutes * MINUTE_MS, triedAt: NOW - minutes * MINUTE_MS });
  test.each([
    ["nothing was written", kept, "current"],
    ["something was, and a quarter of an hour has passed", { ...kept, ...tried(15), isChanged: true }, "due"],
    ["something was, a moment ago", { ...kept, ...tried(14), isChanged: true }, "waiting"],
    ["something was erased a moment ago", { ...kept, ...tried(1), isChanged: true, isErased: true }, "due"],
    ["something was erased, and the last try failed a moment ago", { ...kept, ...tried(1), isChanged: true, isErased: true, hasFailed: true }, "waiting"],
    ["nothing was written for a day", { ...kept, ...tried(24 * 60) }, "due"],
    ["there is none", { ...kept, madeAt: null, triedAt: null }, "due"],
    ["the last try failed a while ago, though nothing was written", { ...kept, triedAt: NOW - 20 * MINUTE_MS, hasFailed: true }, "due"],
    ["the last try failed a moment ago", { ...kept, triedAt: NOW - MINUTE_MS, hasFailed: true }, "waiting"],
    ["the clock was set back", { ...kept, madeAt: NOW + 60 * MINUTE_MS, triedAt: NOW + 60 * MINUTE_MS }, "due"],
  ] as const)("%s", (_name, history, expected) => expect(backupDue(history, NOW)).toBe(expected));
});
