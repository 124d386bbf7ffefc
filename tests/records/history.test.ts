import { copyFileSync, existsSync, mkdirSync, readFileSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { database, openDatabase } from "@/db/client";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { chainEnd } from "@/lib/audit/chain";
import { MARK_FILE, markFault } from "@/lib/audit/mark";
import { ok, refuse } from "@/lib/domain/result";
import { fileWatch } from "@/lib/jobs/database-watch";
import { act } from "@/lib/records/act";
import { addPerson, makeWorld } from "@/tests/records/world";

let world: ReturnType<typeof makeWorld>;
let lead: Actor;
beforeEach(() => {
  world = makeWorld();
  lead = addPerson("lead", "lead");
});
afterEach(() => world.close());

const doOne = async (name = "tested"): Promise<void> => {
  const granted = await grant(lead, "practice.read", null);
  await Promise.resolve(act(granted, name, 1, () => ok({ objectId: "x", value: null })));
};
const marked = (): string => readFileSync(join(world.dir, MARK_FILE), "utf8");
/** A copy as `cp` makes it, with or without the log of writes. */
function copyTo(folder: string, files: readonly string[]): string {
  mkdirSync(join(world.dir, folder));
  for (const file of files) copyFileSync(join(world.dir, file), join(world.dir, folder, file));
  return join(world.dir, folder, "trueside.db");
}
const faultOf = (path: string | null) => {
  const db = path === null ? null : openDatabase(path);
  const fault = markFault(db?.$client ?? null, world.dir);
  db?.$client.close();
  return fault;
};

test("the newest acknowledged entry stands beside the database before anybody goes on", async () => {
  for (let n = 1; n <= 3; n += 1) {
    await doOne();
    const end = chainEnd(database().$client);
    expect(end?.sequence).toBe(n);
    expect(marked()).toBe(`${String(n).padStart(16, "0")} ${end?.hash}\n`);
  }
  expect(markFault(database().$client, world.dir)).toBeNull();
});

test("what was refused and rolled back moves no mark", async () => {
  await doOne();
  const before = marked();
  await Promise.resolve(act(await grant(lead, "practice.read", null), "refused", 1, () => refuse("stale-version")));
  expect(marked()).toBe(before);
});

// SQLite, "How To Corrupt An SQLite Database File", 1.4: without its log the database is whole, and shorter.
test("a deleted log of writes is noticed, though the database calls itself whole", async () => {
  database().$client.pragma("wal_autocheckpoint = 0");
  database().$client.pragma("wal_checkpoint(TRUNCATE)");
  for (let n = 0; n < 20; n += 1) await doOne();
  const whole = copyTo("whole", ["trueside.db", "trueside.db-wal"]);
  const cut = copyTo("cut", ["trueside.db"]);
  expect(faultOf(whole)).toBeNull();
  const db = openDatabase(cut);
  expect(db.$client.pragma("integrity_check", { simple: true })).toBe("ok");
  expect(chainEnd(db.$client)).toBeNull();
  db.$client.close();
  expect(faultOf(cut)).toBe("shorter");
});

test("yesterday's database is noticed, also once it was written on; so is none at all", async () => {
  await doOne();
  await database().$client.backup(join(world.dir, "yesterday.db"));
  for (let n = 0; n < 3; n += 1) await doOne();
  const yesterday = join(world.dir, "yesterday.db");
  expect(faultOf(yesterday)).toBe("shorter");
  const db = openDatabase(yesterday);
  for (let n = 2; n <= 6; n += 1) {
    db.$client.prepare("insert into audit_entries (sequence, at, act, outcome, previous_hash, hash) values (?, 1, 'a', 'done', 'b', ?)").run(n, `${n}`);
  }
  db.$client.close();
  expect(faultOf(yesterday)).toBe("other");
  expect(faultOf(null)).toBe("shorter");
});

test("a mark that cannot be read is said; a folder without one is older than it", async () => {
  await doOne();
  writeFileSync(join(world.dir, MARK_FILE), "7\n");
  expect(markFault(database().$client, world.dir)).toBe("unreadable");
  rmSync(join(world.dir, MARK_FILE));
  expect(markFault(database().$client, world.dir)).toBeNull();
});

test.each(["trueside.db", "trueside.db-wal"] as const)("%s replaced, and deleted, is noticed; untouched it is not", async (file) => {
  await doOne();
  const lost: string[] = [];
  const look = fileWatch(world.dir, (each) => lost.push(each));
  look();
  await doOne();
  look();
  expect(lost).toEqual([]);
  const path = join(world.dir, file);
  copyFileSync(path, `${path}.copy`);
  renameSync(path, `${path}.before`);
  look();
  renameSync(`${path}.copy`, path);
  look();
  expect(lost).toEqual([file, file]);
  renameSync(`${path}.before`, path);
  expect(existsSync(path)).toBe(true);
});
