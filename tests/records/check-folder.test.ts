import { openSync, readdirSync, readSync, rmSync, statSync, truncateSync, utimesSync, writeFileSync, writeSync, closeSync, mkdirSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { database } from "@/db/client";
import { MARK_FILE } from "@/lib/audit/mark";
import { checkFolder } from "@/lib/backup/check-folder";
import { inWords } from "@/lib/cli/said";
import { keepFiles } from "@/tests/records/kept-files";
import { addFamilyOf, addPerson, makeWorld } from "@/tests/records/world";

let world: ReturnType<typeof makeWorld>;
let fileIds: readonly string[];
beforeEach(async () => {
  world = makeWorld();
  addPerson("lead", "lead");
  addPerson("mother", "guardian");
  addFamilyOf("family", ["child"], { mother: ["child"] });
  fileIds = await keepFiles(world.dir, "family", "child", 3);
});
afterEach(() => world.close());

const pathOf = (fileId = ""): string => join(world.dir, "media", fileId.slice(0, 2), fileId.slice(2, 4), fileId);
const found = async (now = Date.now()) => (await checkFolder(world.dir, now)).findings;

/** Turns one bit over where the file lies. */
function flip(path: string, at: number): void {
  const file = openSync(path, "r+");
  const byte = Buffer.alloc(1);
  readSync(file, byte, 0, 1, at);
  writeSync(file, Buffer.from([(byte[0] ?? 0) ^ 1]), 0, 1, at);
  closeSync(file);
}
/** The same statement with what guards the table taken away, as somebody with the file in hand would. */
function behindTheBack(sql: string): void {
  database().$client.exec(`drop trigger if exists audit_entries_no_update; drop trigger if exists audit_entries_no_delete; pragma foreign_keys = off; ${sql}`);
}

test("a sound folder, and how much of it there is", async () => {
  const checked = await checkFolder(world.dir, Date.now());
  expect(checked).toMatchObject({ findings: [], auditEntries: 3, files: 3 });
  expect(inWords(checked)).toHaveLength(1);
});

test("it changes nothing", async () => {
  const listing = () => readdirSync(world.dir, { recursive: true }).map(String).sort();
  const before = listing();
  await checkFolder(world.dir, Date.now());
  expect(listing()).toEqual(before);
});

describe("the database", () => {
  test.each([
    ["changed", "update audit_entries set act = 'other' where sequence = 2", "2"],
    ["taken out of the middle", "delete from audit_entries where sequence = 2", "2"],
    ["taken from the beginning", "delete from audit_entries where sequence = 1", "1"],
    ["changed with its own hash put right", "update audit_entries set hash = 'f' where sequence = 2", "2"],
  ])("an audit entry %s", async (_name, sql, at) => {
    behindTheBack(sql);
    expect(await found()).toEqual([{ found: "audit-broken", at }]);
  });

  test("audit entries cut off at the end, also where SQLite's own number is put right", async () => {
    behindTheBack("delete from audit_entries where sequence = 3");
    expect(await found()).toEqual([{ found: "audit-broken", at: "3" }, { found: "history-shorter", at: null }]);
    behindTheBack("update sqlite_sequence set seq = 2 where name = 'audit_entries'");
    expect(await found()).toEqual([{ found: "history-shorter", at: null }]);
  });

  test("a reference that leads nowhere", async () => {
    behindTheBack("delete from families");
    expect((await found()).map(({ found: each, at }) => `${each} ${at}`)).toContain("reference-broken children");
  });

  test("a page that is damaged", async () => {
    const client = database().$client;
    client.pragma("wal_checkpoint(TRUNCATE)");
    const page = Number(client.prepare("select rootpage from sqlite_schema where name = 'media_files'").pluck().get());
    const size = Number(client.pragma("page_size", { simple: true }));
    client.close();
    flip(join(world.dir, "trueside.db"), (page - 1) * size);
    expect((await found()).map((each) => each.found)).toContain("database-damaged");
  });

  test("none at all, and a mark nobody can read", async () => {
    writeFileSync(join(world.dir, MARK_FILE), "x");
    expect(await found()).toEqual([{ found: "mark-unreadable", at: null }]);
    rmSync(join(world.dir, "trueside.db"));
    expect(await found()).toEqual([{ found: "database-missing", at: null }]);
  });
});

describe("the files", () => {
  test.each([0, 30, 60, 100, 70_000])("one bit turned over at %i", async (at) => {
    flip(pathOf(fileIds[1]), at);
    expect(await found()).toEqual([{ found: "file-damaged", at: fileIds[1] }]);
  });

  test("one cut short, one gone, and one of another key", async () => {
    truncateSync(pathOf(fileIds[0]), statSync(pathOf(fileIds[0])).size - 1);
    rmSync(pathOf(fileIds[1]));
    flip(pathOf(fileIds[2]), 6);
    expect([...(await found())].sort((a, b) => a.found.localeCompare(b.found))).toEqual([
      { found: "file-damaged", at: fileIds[0] }, { found: "file-missing", at: fileIds[1] }, { found: "file-of-another-key", at: fileIds[2] },
    ]);
  });

  test("one whose row says otherwise", async () => {
    database().$client.prepare("update media_files set sha256 = ? where file_id = ?").run("0".repeat(64), fileIds[0]);
    expect(await found()).toEqual([{ found: "file-damaged", at: fileIds[0] }]);
  });

  test("one without a row, once it had an hour to get it", async () => {
    const stray = "ab".repeat(16);
    mkdirSync(join(world.dir, "media", "ab", "ab"), { recursive: true });
    writeFileSync(pathOf(stray), "x");
    expect(await found()).toEqual([]);
    const old = new Date(Date.now() - 2 * 3_600_000);
    utimesSync(pathOf(stray), old, old);
    expect(await found()).toEqual([{ found: "file-without-row", at: stray }]);
  });

  test("the key gone: said, instead of every file being called damaged", async () => {
    rmSync(join(world.dir, "keys", "mediaKey"));
    expect(await found()).toEqual([{ found: "keys-missing", at: null }]);
  });
});
