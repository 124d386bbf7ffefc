import { appendFileSync } from "node:fs";
import { afterEach, beforeEach, describe, expect, test, vi } from "vitest";
import { database } from "@/db/client";
import { alarms, alarmsSeen } from "@/db/schema/alarms";
import { auditEntries, notices } from "@/db/schema/machinery";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { noteRefused } from "@/lib/access/mailed-code";
import { isReady, upkeep } from "@/lib/access/readiness";
import { checkFolder } from "@/lib/backup/check-folder";
import { writeBackupState, writeCheckState } from "@/lib/backup/state";
import { tally, talliedSince } from "@/lib/jobs/tally.mjs";
import { DISK } from "@/lib/media/space";
import { addNotice } from "@/lib/notices/add";
import { compose } from "@/lib/notices/compose";
import { deliverNotices } from "@/lib/notices/outbox";
import { DecoderPool } from "@/lib/photos/decoder-pool";
import { alarmLook, alarmsOf, openAlarms, seeToAlarm } from "@/lib/records/alarms";
import { codeOf } from "@/tests/records/desk-scene";
import { addPerson, makeWorld } from "@/tests/records/world";

const NOW = Date.UTC(2026, 10, 28, 12);
const MINUTE = 60_000;
const DAY = 1440 * MINUTE;

let world: ReturnType<typeof makeWorld>;
let lead: Actor;
let lines: string[];
let look: (now?: number, upMs?: number) => void;
beforeEach(() => {
  world = makeWorld();
  lead = addPerson("lead", "lead");
  addPerson("therapist", "therapist");
  lines = [];
  vi.spyOn(process.stderr, "write").mockImplementation((line) => lines.push(String(line)) > 0);
  vi.spyOn(DISK, "space").mockReturnValue({ freeBytes: 30e9, totalBytes: 40e9 });
  vi.stubEnv("PUBLIC_URL", "https://practice.example");
  const one = alarmLook();
  look = (now = NOW, upMs = MINUTE) => one(database(), now, upMs);
});
afterEach(() => {
  vi.restoreAllMocks();
  vi.unstubAllEnvs();
  world.close();
});

const kinds = () => database().select({ kind: alarms.kind }).from(alarms).all().map(({ kind }) => kind);
const mails = () => database().select({ to: notices.personId, kind: notices.kind }).from(notices).all().filter(({ kind }) => kind === "alarm").map(({ to }) => to);
const shown = async () => alarmsOf(await grant(lead, "alarms.read", null));
const seeTo = async (alarmId: string, now = NOW) => codeOf(await seeToAlarm(await grant(lead, "alarms.see-to", null), alarmId, now));
const low = (isLow: boolean) => vi.spyOn(DISK, "space").mockReturnValue({ freeBytes: isLow ? 1e9 : 30e9, totalBytes: 40e9 });

describe("an alarm", () => {
  test("is raised once, logged by its code, told to the lead alone in a mail that says nothing, and open until seen to by hand", async () => {
    low(true);
    look();
    look(NOW + MINUTE);
    expect([kinds(), mails(), lines.map((line) => JSON.parse(line) as object)]).toEqual([["disk-low"], ["lead"], [{ at: new Date(NOW).toISOString(), event: "alarm", kind: "disk-low" }]]);
    // Each mail has a key of its own to switch such mails off.
    const words = (kind: string) => compose({ id: "m", kind, personId: "lead", to: "lead@people.example", values: {}, reader: lead.reader }).text.replace(/key=\S+/, "");
    expect(words("alarm")).toBe(words("answer"));
    expect([await openAlarms(await grant(lead, "alarms.read", null)), upkeep(NOW)]).toEqual([1, { alarm: true }]);
    const [open] = await shown();
    expect(open).toMatchObject({ kind: "disk-low", raisedAt: NOW, seen: null });
    expect([await seeTo(open?.alarmId ?? "", NOW + 2 * MINUTE), await seeTo(open?.alarmId ?? ""), await seeTo("another")]).toEqual(["done", "stale-version", "stale-version"]);
    expect((await shown())[0]?.seen).toEqual({ by: "lead", at: NOW + 2 * MINUTE });
    expect(upkeep(NOW)).toEqual({});
    expect(database().select({ act: auditEntries.act, actor: auditEntries.actorId }).from(auditEntries).all()).toEqual([{ act: "alarm.raised", actor: null }, { act: "alarm.seen-to", actor: "lead" }]);
  });

  test("seen to, it comes back after a day, or when the reason was gone and is back", async () => {
    low(true);
    look();
    await seeTo((await shown())[0]?.alarmId ?? "");
    look(NOW + MINUTE);
    expect(kinds()).toHaveLength(1);
    low(false);
    look(NOW + 2 * MINUTE);
    low(true);
    look(NOW + 3 * MINUTE);
    expect(kinds()).toHaveLength(2);
    await seeTo((await shown())[0]?.alarmId ?? "", NOW + 4 * MINUTE);
    look(NOW + DAY);
    expect(kinds()).toHaveLength(2);
    look(NOW + DAY + 4 * MINUTE);
    expect(kinds()).toHaveLength(3);
  });

  test("open, it is told again each day", () => {
    low(true);
    for (let hour = 0; hour < 50; hour += 1) look(NOW + hour * 60 * MINUTE);
    expect([kinds().length, mails().length]).toEqual([1, 3]);
  });

  test("cannot be changed or taken away", async () => {
    low(true);
    look();
    await seeTo((await shown())[0]?.alarmId ?? "");
    for (const table of [alarms, alarmsSeen]) {
      expect(() => database().delete(table).run()).toThrow(/append-only/);
    }
    expect(() => database().update(alarms).set({ raisedAt: 0 }).run()).toThrow(/append-only/);
    expect(() => database().update(alarmsSeen).set({ seenAt: 0 }).run()).toThrow(/append-only/);
  });

  test("is nobody's but a lead's", async () => {
    const therapist = { ...lead, personId: "therapist", role: "therapist" as const };
    await expect(grant(therapist, "alarms.read", null)).rejects.toThrow();
    await expect(grant(therapist, "alarms.see-to", null)).rejects.toThrow();
    const elsewhere = { ...lead, practiceId: "elsewhere" };
    low(true);
    look();
    expect(await alarmsOf(await grant(elsewhere, "alarms.read", null))).toEqual([]);
    const id = (await shown())[0]?.alarmId ?? "";
    expect(codeOf(await seeToAlarm(await grant(elsewhere, "alarms.see-to", null), id, NOW))).toBe("stale-version");
  });
});

describe("what raises one", () => {
  test("an audit entry changed with another program, as the daily check finds it", async () => {
    database().transaction((tx) => noteRefused(tx, "sign-in", null, NOW));
    // Whoever may change the file may drop a trigger.
    database().$client.exec("drop trigger audit_entries_no_update; update audit_entries set act = 'other'");
    const { findings } = await checkFolder(world.dir, NOW);
    expect(findings.map(({ found }) => found)).toContain("audit-broken");
    writeCheckState(world.dir, { at: NOW, findings: findings.length, isHistoryBroken: true });
    look();
    expect(kinds()).toEqual(["history-broken"]);
  });

  test("damage, and a backup that failed", () => {
    vi.stubEnv("BACKUP_DIR", "/somewhere/else");
    writeCheckState(world.dir, { at: NOW, findings: 2 });
    writeBackupState(world.dir, { madeAt: NOW, triedAt: NOW, fault: "disk-full", lost: 0 });
    look();
    expect(kinds().toSorted()).toEqual(["backup", "folder-damaged"]);
  });

  test("mail that does not leave; not mail that waits for the end of quiet hours, and not the alarm itself", async () => {
    const write = (kind: "answer" | "alarm", from = NOW) => database().transaction((tx) => addNotice(tx, { kind, personId: "therapist", dedupeKey: `${kind}:${from}`, now: NOW, from }));
    write("answer", NOW + DAY);
    write("alarm");
    look(NOW + 20 * MINUTE);
    expect(kinds()).toEqual([]);
    write("answer");
    await deliverNotices(database(), NOW, () => Promise.reject(Object.assign(new Error("no"), { code: "ECONNECTION" })));
    look(NOW + 15 * MINUTE);
    expect(kinds()).toEqual([]);
    look(NOW + 16 * MINUTE);
    expect(kinds()).toEqual(["mail-stuck"]);
    expect(lines.join("")).not.toContain("people.example");
  });

  test("thirty refused tries to get in; seen to, thirty more are another", async () => {
    const refuse = (n: number, now: number) => { for (let each = 0; each < n; each += 1) database().transaction((tx) => noteRefused(tx, each % 2 ? "sign-in" : "second-factor.shown", null, now)); };
    refuse(29, NOW);
    look();
    expect(kinds()).toEqual([]);
    refuse(1, NOW);
    look();
    expect(kinds()).toEqual(["sign-ins"]);
    await seeTo((await shown())[0]?.alarmId ?? "", NOW + MINUTE);
    look(NOW + 2 * MINUTE);
    refuse(30, NOW + 3 * MINUTE);
    look(NOW + 3 * MINUTE);
    expect(kinds()).toEqual(["sign-ins", "sign-ins"]);
  });

  test("five decoders that were stopped, by their own processes", async () => {
    const from = Date.now() - 1000;
    const before = talliedSince("decoder-stopped", from);
    const pool = new DecoderPool("photos");
    for (let n = 0; n < 5; n += 1) {
      const running = pool.run({ header: { operation: "warm" }, parts: [] });
      while (pool.busyPids.length === 0) await new Promise((resolve) => { setImmediate(resolve); });
      for (const pid of pool.busyPids) process.kill(pid, "SIGKILL");
      expect(codeOf(await running)).toBe("photo-decoder-stopped");
    }
    await pool.close();
    expect(talliedSince("decoder-stopped", from) - before).toBe(5);
    look(Date.now());
    expect(kinds()).toContain("decoder");
  }, 60_000);

  test("requests that failed, more than one in a hundred", () => {
    const now = Date.UTC(2030, 0, 1);
    for (let n = 0; n < 500; n += 1) tally("answered", now);
    for (let n = 0; n < 5; n += 1) tally("failed", now);
    look(now + MINUTE);
    expect(kinds()).toEqual([]);
    tally("failed", now);
    look(now + MINUTE);
    expect(kinds()).toEqual(["errors"]);
    tally("answered", now + 60 * MINUTE);
    expect(talliedSince("answered", 0)).toBe(1);
  });
});

describe("readiness", () => {
  test("is more than being alive: the media folder takes a file, and the disk has room", async () => {
    expect(await isReady()).toBe(true);
    low(true);
    expect(await isReady()).toBe(false);
    low(false);
    expect(await isReady()).toBe(true);
    // A file where the folder should be: no write succeeds, whoever asks.
    const other = makeWorld();
    appendFileSync(`${other.dir}/media`, "in the way");
    expect(await isReady()).toBe(false);
    other.close();
  });
});
