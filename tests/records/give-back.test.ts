import { chownSync, lstatSync, mkdirSync, mkdtempSync, readdirSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { openDatabase, openToRead } from "@/db/client";
import { giveBack } from "@/lib/cli/give-back.mjs";

/** As root the folder belongs to another account; elsewhere all belongs to whoever runs this. */
const isRoot = process.getuid?.() === 0;
const OWNER = isRoot ? 4711 : (process.getuid?.() ?? 0);

let place: string;
let dir: string;
beforeEach(() => {
  place = mkdtempSync(join(tmpdir(), "trueside-owners-"));
  dir = join(place, "data");
  mkdirSync(dir);
});
afterEach(() => rmSync(place, { recursive: true }));

const toOwner = (...paths: readonly string[]): void => {
  if (isRoot) for (const path of paths) chownSync(path, OWNER, OWNER);
};
const ownersUnder = (folder: string) => [...new Set(readdirSync(folder, { recursive: true }).map((name) => lstatSync(join(folder, String(name))).uid))];

test("what root wrote into another account's folder belongs to that account, and nothing that a link leads to", () => {
  toOwner(dir);
  mkdirSync(join(dir, "keys"));
  writeFileSync(join(dir, "keys", "backupKey"), "x");
  writeFileSync(join(dir, "backup-state.json"), "{}");
  writeFileSync(join(place, "elsewhere"), "x");
  symlinkSync(join(place, "elsewhere"), join(dir, "link"));
  giveBack(dir);
  expect(ownersUnder(dir)).toEqual([OWNER]);
  expect(lstatSync(join(place, "elsewhere")).uid).toBe(process.getuid?.());
});

// SQLite's unix VFS gives its files the owner of the database when root opens it; a look would else leave a -shm that locks the server out.
test("looking at a database leaves no file that its owner cannot open", () => {
  const path = join(dir, "trueside.db");
  const db = openDatabase(path);
  db.$client.exec("create table t (a)");
  db.$client.close();
  toOwner(dir, path);
  const client = openToRead(path);
  expect(client.prepare("select count(*) from t").pluck().get()).toBe(0);
  expect(readdirSync(dir).sort()).toEqual(["trueside.db", "trueside.db-shm", "trueside.db-wal"]);
  expect(ownersUnder(dir)).toEqual([OWNER]);
  client.close();
  expect(ownersUnder(dir)).toEqual([OWNER]);
});
