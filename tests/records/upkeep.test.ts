import { afterEach, beforeEach, describe, expect, test, vi } from "vitest";
import { database } from "@/db/client";
import { families } from "@/db/schema/care";
import { tombstones } from "@/db/schema/erasure";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { upkeep } from "@/lib/access/readiness";
import { noteBackupCurrent, writeBackupState, writeCheckState, writeRestoredState } from "@/lib/backup/state";
import { backupLook, writeDownBackup } from "@/lib/jobs/backups";
import { checkLook } from "@/lib/jobs/daily-check";
import { restoredLately, upkeepOf } from "@/lib/records/upkeep";
import { addPerson, makeWorld } from "@/tests/records/world";

const NOW = Date.UTC(2026, 10, 27, 12);
const MINUTE_MS = 60_000;
const DAY_MS = 86_400_000;

let world: ReturnType<typeof makeWorld>;
let lead: Actor;
let lines: string[];
beforeEach(() => {
  world = makeWorld();
  lead = addPerson("lead", "lead");
  lines = [];
  vi.spyOn(process.stderr, "write").mockImplementation((line) => lines.push(String(line)) > 0);
  vi.stubEnv("BACKUP_DIR", "/somewhere/else");
});
afterEach(() => {
  vi.restoreAllMocks();
  vi.unstubAllEnvs();
  noteBackupCurrent(0);
  world.close();
});

const said = () => lines.map((line) => JSON.parse(line) as Record<string, unknown>);
const add = (id: string): void => void database().insert(families).values({ id, practiceId: "practice", name: id, createdAt: 0 }).run();
const made = (now: number, more: object = {}) => vi.fn(async () => {
  writeBackupState(world.dir, { madeAt: now, triedAt: now, fault: null, lost: 0, ...more });
  return 0;
});
const standing = async (now: number) => (await upkeepOf(await grant(lead, "practice.settings", null), now)).standing;

describe("the job that makes backups", () => {
  test("begins with one, then makes one only where something was written and a quarter of an hour has passed", async () => {
    let now = NOW;
    const make = vi.fn(async () => made(now)());
    const look = backupLook(make);
    for (; now < NOW + 60 * MINUTE_MS; now += MINUTE_MS) await look(now);
    expect(make).toHaveBeenCalledTimes(1);
    expect(await standing(now)).toBe("good");
    add("one");
    await look(now);
    expect(make).toHaveBeenCalledTimes(2);
    add("two");
    now += 14 * MINUTE_MS;
    await look(now);
    expect(make).toHaveBeenCalledTimes(2);
    now += MINUTE_MS;
    await look(now);
    expect(make).toHaveBeenCalledTimes(3);
    expect(said().map(({ event }) => event)).toEqual(["backup-made", "backup-made", "backup-made"]);
  });

  test("each one is in the audit once, whoever made it, and writing it down is no reason for another", async () => {
    const entries = () => database().$client.prepare("select object_id from audit_entries where act = 'backup.made'").pluck().all();
    let now = NOW;
    writeDownBackup(now);
    expect(entries()).toEqual([]);
    const make = vi.fn(async () => made(now)());
    const look = backupLook(make);
    for (; now < NOW + 60 * MINUTE_MS; now += MINUTE_MS) {
      await look(now);
      writeDownBackup(now);
    }
    expect(make).toHaveBeenCalledTimes(1);
    expect(entries()).toEqual(["2026-11-27T12:00:00.000Z"]);
    // By hand, beside the server.
    await made(now)();
    writeDownBackup(now);
    expect(entries()).toEqual(["2026-11-27T12:00:00.000Z", "2026-11-27T13:00:00.000Z"]);
  });

  test("makes one at once when something was erased", async () => {
    let now = NOW;
    const make = vi.fn(async () => made(now)());
    const look = backupLook(make);
    await look(now);
    database().insert(tombstones).values({ id: "x", kind: "child", erasedAt: NOW }).run();
    now += MINUTE_MS;
    await look(now);
    expect(make).toHaveBeenCalledTimes(2);
  });

  test("a failure is logged by its kind, is not tried again at once, and the lead and the health check are told", async () => {
    await backupLook(made(NOW))(NOW);
    const fail = vi.fn(async () => {
      writeBackupState(world.dir, { madeAt: NOW, triedAt: NOW + 20 * MINUTE_MS, fault: "disk-full", lost: 0 });
      return 1;
    });
    const look = backupLook(fail);
    await look(NOW + 20 * MINUTE_MS);
    await look(NOW + 21 * MINUTE_MS);
    expect(fail).toHaveBeenCalledTimes(1);
    expect(said().at(-1)).toMatchObject({ event: "backup-failed", fault: "disk-full", code: 1 });
    expect(await standing(NOW + 21 * MINUTE_MS)).toBe("failed");
    expect(upkeep(NOW + 21 * MINUTE_MS)).toEqual({ backup: false });
  });

  test("one that stands still is noticed", async () => {
    await backupLook(made(NOW))(NOW);
    expect(upkeep(NOW + 29 * MINUTE_MS)).toEqual({ backup: true });
    expect(upkeep(NOW + 31 * MINUTE_MS)).toEqual({ backup: false });
    expect(await standing(NOW + 31 * MINUTE_MS)).toBe("late");
    vi.stubEnv("BACKUP_DIR", "");
    expect(upkeep(NOW + 31 * MINUTE_MS)).toEqual({});
  });
});

describe("the daily check", () => {
  test("once a day, not in a process's first look, and what it found is said to the lead and the health check", async () => {
    let findings = 0;
    let now = NOW;
    const check = vi.fn(async () => {
      writeCheckState(world.dir, { at: now, findings });
      return 0;
    });
    const look = checkLook(check);
    for (; now < NOW + DAY_MS; now += 60 * MINUTE_MS) await look(now);
    expect(check).toHaveBeenCalledTimes(1);
    expect(said()).toEqual([]);
    findings = 3;
    for (; now < NOW + 2 * DAY_MS; now += 60 * MINUTE_MS) await look(now);
    expect(check).toHaveBeenCalledTimes(2);
    expect(said()).toMatchObject([{ event: "check-found", findings: 3 }]);
    expect(upkeep(now)).toMatchObject({ sound: false });
    expect((await upkeepOf(await grant(lead, "practice.settings", null), now)).check?.findings).toBe(3);
  });

  test("one that could not be made is said too", async () => {
    const look = checkLook(async () => 1);
    await look(NOW);
    await look(NOW + 60 * MINUTE_MS);
    expect(said()).toMatchObject([{ event: "check-failed" }]);
  });
});

test("for two weeks after a restore the desk is told since when something may be missing", async () => {
  const granted = await grant(lead, "practice.read", null);
  expect(await restoredLately(granted, NOW)).toBeNull();
  writeRestoredState(world.dir, { at: NOW, takenAt: NOW - MINUTE_MS });
  expect(await restoredLately(granted, NOW + 13 * DAY_MS)).toEqual({ at: NOW, takenAt: NOW - MINUTE_MS });
  expect(await restoredLately(granted, NOW + 15 * DAY_MS)).toBeNull();
});
