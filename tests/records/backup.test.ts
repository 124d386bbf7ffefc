import { createHash, randomBytes } from "node:crypto";
import { appendFileSync, cpSync, existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, renameSync, rmSync, statSync, truncateSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, relative } from "node:path";
import * as fc from "fast-check";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { database, openDatabase } from "@/db/client";
import { children } from "@/db/schema/care";
import { sessions } from "@/db/schema/sign-in";
import { chainEnd, checkChain } from "@/lib/audit/chain";
import { checkFolder } from "@/lib/backup/check-folder";
import { BackupFault } from "@/lib/backup/fault";
import { backupsIn } from "@/lib/backup/folder";
import { keyFromText, keyToText, openBackupKey } from "@/lib/backup/key";
import { refuseContent, restoreBackup } from "@/lib/backup/restore";
import { takeBackup } from "@/lib/backup/take";
import { eraseRows } from "@/lib/records/erasing";
import { applyTombstones, finishErasing } from "@/lib/records/tombstones";
import { mediaStore } from "@/lib/records/media";
import { rotateKey } from "@/lib/records/rotate-key";
import { keepFiles } from "@/tests/records/kept-files";
import { addFamilyOf, addPerson, makeWorld } from "@/tests/records/world";

const NOW = Date.UTC(2026, 10, 27, 21, 15);
const DAY_MS = 86_400_000;
const CANARY = "Quillhaven-Osterby";

let world: ReturnType<typeof makeWorld>;
let place: string;
let backups: string;
let key: Buffer;
let fileIds: readonly string[];

beforeEach(async () => {
  world = makeWorld();
  place = mkdtempSync(join(tmpdir(), "trueside-backups-"));
  backups = join(place, "backups");
  key = randomBytes(32);
  writeFileSync(join(world.dir, "kind"), "real\n");
  addPerson("lead", "lead");
  addPerson("mother", "guardian");
  addFamilyOf("family", ["child"], { mother: ["child"] });
  database().update(children).set({ givenName: CANARY }).run();
  fileIds = await keepFiles(world.dir, "family", "child", 3);
});
afterEach(() => {
  database().$client.close();
  process.env["DATA_DIR"] = world.dir;
  world.close();
  rmSync(place, { recursive: true });
});

const back = (now = NOW) => takeBackup(world.dir, backups, { key, isKept: true }, now);
async function restore(from = backups, to = "restored", by = key, now = NOW) {
  const target = join(place, to);
  mkdirSync(target, { recursive: true });
  process.env["DATA_DIR"] = target;
  const restored = await restoreBackup(from, target, by, applyTombstones, now);
  return { target, restored };
}
const faultOf = (work: Promise<unknown>): Promise<string> =>
  work.then(() => "none", (error: unknown) => (error instanceof BackupFault ? error.fault : String(error)));
const filesUnder = (folder: string): readonly string[] =>
  readdirSync(folder, { recursive: true }).map(String).filter((name) => statSync(join(folder, name)).isFile()).sort();
const hashes = (folder: string) => Object.fromEntries(filesUnder(folder).map((name) => [name, createHash("sha256").update(readFileSync(join(folder, name))).digest("hex")]));
const countsIn = (dir: string): Readonly<Record<string, unknown>> => {
  const db = openDatabase(join(dir, "trueside.db")).$client;
  const tables = db.prepare<[], string>("select name from sqlite_schema where type = 'table'").pluck().all();
  const counts = Object.fromEntries(tables.map((table) => [table, db.prepare(`select count(*) from "${table}"`).pluck().get()]));
  db.close();
  return counts;
};

describe("the key on paper", () => {
  test("is read as it is meant, and a slip is noticed", () => {
    fc.assert(fc.property(fc.uint8Array({ minLength: 32, maxLength: 32 }), fc.nat(55), fc.nat(30), (bytes, at, by) => {
      const text = keyToText(bytes);
      expect(text).toMatch(/^(?:[0-9A-HJKMNP-TV-Z]{4}-){13}[0-9A-HJKMNP-TV-Z]{4}$/);
      expect(keyFromText(text)).toEqual(Buffer.from(bytes));
      expect(keyFromText(` ${text.toLowerCase().replaceAll("-", " ").replaceAll("0", "o").replaceAll("1", "l")}\n`)).toEqual(Buffer.from(bytes));
      const letters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
      const bare = text.replaceAll("-", "");
      const other = letters[(letters.indexOf(bare.charAt(at)) + 1 + by) % 32] ?? "";
      const slip = bare.slice(0, at) + other + bare.slice(at + 1);
      // 20 bits of check: a slip of one character in 52 passes once in a million, and then names no backup.
      const read = (() => { try { return keyFromText(slip); } catch { return null; } })();
      expect(read === null || !read.equals(bytes)).toBe(true);
      expect(() => keyFromText(bare.slice(1))).toThrow(BackupFault);
    }));
  });

  test("is made once, kept in the data folder, and left out where a setting gives it", () => {
    const first = openBackupKey(world.dir, undefined);
    expect(first).toMatchObject({ isNew: true, isKept: true });
    expect(openBackupKey(world.dir, undefined)).toEqual({ ...first, isNew: false });
    expect(openBackupKey(world.dir, keyToText(key))).toEqual({ key, isNew: false, isKept: false });
  });
});

test("a practice comes back as it was: every count, every byte, every key", async () => {
  const backupKey = openBackupKey(world.dir, undefined);
  await takeBackup(world.dir, backups, backupKey, NOW);
  const [counts, media, keys] = [countsIn(world.dir), hashes(join(world.dir, "media")), hashes(join(world.dir, "keys"))];
  rmSync(join(world.dir, "media"), { recursive: true });
  const { target, restored } = await restore(backups, "restored", backupKey.key);
  database().$client.close();
  expect(restored).toMatchObject({ isDemo: false, files: 3, lost: 0, erasedAgain: 0 });
  const after = countsIn(target);
  expect(after).toEqual({ ...counts, audit_entries: Number(counts["audit_entries"]) + 1 });
  expect(hashes(join(target, "media"))).toEqual(media);
  expect(hashes(join(target, "keys"))).toEqual(keys);
  expect(readFileSync(join(target, "kind"), "utf8")).toBe("real\n");
  expect((await checkFolder(target, NOW)).findings).toEqual([]);
});

test("without the key there is nothing in it: no name, no database, no picture, no key of the practice", async () => {
  const keys = filesUnder(join(world.dir, "keys")).map((name) => readFileSync(join(world.dir, "keys", name)));
  const plain = await mediaStore().read(fileIds[0] ?? "");
  const needles = [Buffer.from(CANARY), Buffer.from("SQLite format 3"), Buffer.from("child"), Buffer.from([0xff, 0xd8, 0xff]), plain.subarray(0, 16), key, ...keys, ...keys.map((each) => Buffer.from(each.toString("base64"))), ...fileIds.map((id) => Buffer.from(id))];
  expect(needles.filter((needle) => readFileSync(join(world.dir, "trueside.db")).includes(needle) || readFileSync(join(world.dir, "trueside.db-wal")).includes(needle)).length).toBeGreaterThan(2);
  await back();
  for (const name of filesUnder(backups)) {
    const bytes = readFileSync(join(backups, name));
    for (const needle of needles.filter((each) => each.length > 3 || name === "about.json")) expect(bytes.includes(needle), name).toBe(false);
  }
  expect(existsSync(join(world.dir, "backup-work"))).toBe(false);
});

describe("a backup that is not what was written", () => {
  const damages: readonly [string, (path: string) => void][] = [
    ["one bit turned over at the start", (path) => turn(path, 0)],
    ["one bit turned over in the header", (path) => turn(path, 30)],
    ["one bit turned over in the middle", (path) => turn(path, Math.floor(statSync(path).size / 2))],
    ["one bit turned over at the end", (path) => turn(path, statSync(path).size - 1)],
    ["its last byte cut off", (path) => truncateSync(path, statSync(path).size - 1)],
    ["half of it cut off", (path) => truncateSync(path, Math.floor(statSync(path).size / 2))],
    ["a byte more", (path) => appendFileSync(path, "x")],
    ["nothing in it", (path) => truncateSync(path, 0)],
  ];
  test("is refused whatever is wrong with whichever file, and nothing is left behind", async () => {
    await back();
    const media = filesUnder(backups).filter((name) => name.startsWith("media"));
    const files = filesUnder(backups).filter((name) => name !== "about.json" && !media.slice(1).includes(name));
    expect(files).toHaveLength(3);
    for (const [how, damage] of damages) {
      for (const name of files) {
        const kept = readFileSync(join(backups, name));
        damage(join(backups, name));
        expect(await faultOf(restore()), `${name}: ${how}`).toBe("file-damaged");
        expect(readdirSync(join(place, "restored")), `${name}: ${how}`).toEqual([]);
        writeFileSync(join(backups, name), kept);
      }
    }
    expect(await faultOf(restore())).toBe("none");
  });

  test("a file missing, and two exchanged", async () => {
    await back();
    const media = filesUnder(backups).filter((name) => name.startsWith("media"));
    const [one = "", other = ""] = media.map((name) => join(backups, name));
    renameSync(one, `${one}.gone`);
    expect(await faultOf(restore())).toBe("file-missing");
    renameSync(other, one);
    renameSync(`${one}.gone`, other);
    expect(await faultOf(restore())).toBe("file-damaged");
    const [name = ""] = await backupsIn(backups);
    rmSync(join(backups, name, "database"));
    expect(await faultOf(restore())).toBe("file-missing");
  });

  test("another key, another practice's folder, and a folder of something else", async () => {
    await back();
    expect(await faultOf(restore(backups, "restored", randomBytes(32)))).toBe("key-wrong");
    expect(await faultOf(takeBackup(world.dir, backups, { key: randomBytes(32), isKept: true }, NOW))).toBe("key-wrong");
    process.env["DATA_DIR"] = world.dir;
    database().$client.exec("pragma foreign_keys = off; update practices set id = 'another'; update people set practice_id = 'another'; update families set practice_id = 'another'; update working_hours set practice_id = 'another'");
    expect(await faultOf(back())).toBe("folder-other-practice");
    mkdirSync(join(place, "letters"));
    writeFileSync(join(place, "letters", "to-grandmother.txt"), "x");
    expect(await faultOf(takeBackup(world.dir, join(place, "letters"), { key, isKept: true }, NOW))).toBe("folder-foreign");
    expect(await faultOf(restore(join(place, "letters")))).toBe("folder-foreign");
    expect(readdirSync(join(place, "letters"))).toEqual(["to-grandmother.txt"]);
  });

  test("a database that SQLite itself calls damaged is not backed up over good ones", async () => {
    await back();
    database().$client.exec("pragma foreign_keys = off; delete from families");
    expect(await faultOf(back(NOW + DAY_MS))).toBe("database-damaged");
    expect(await backupsIn(backups)).toHaveLength(1);
  });
});

describe("a backup", () => {
  test("is made of what is new alone, and older ones stay whole", async () => {
    expect(await back()).toMatchObject({ files: 3, added: 3 });
    const before = filesUnder(join(backups, "media")).map((name) => statSync(join(backups, "media", name)).mtimeMs);
    await keepFiles(world.dir, "family", "child", 1);
    expect(await back(NOW + DAY_MS)).toMatchObject({ files: 4, added: 1 });
    expect(filesUnder(join(backups, "media")).map((name) => statSync(join(backups, "media", name)).mtimeMs)).toEqual(expect.arrayContaining(before));
    const [first = ""] = await backupsIn(backups);
    expect((await restore(join(backups, first))).restored).toMatchObject({ files: 3 });
  });

  test("still holds whole what rotted here since; what rotted before is said, and the rest is kept", async () => {
    await back();
    const path = join(world.dir, "media", (fileIds[0] ?? "").slice(0, 2), (fileIds[0] ?? "").slice(2, 4), fileIds[0] ?? "");
    turn(path, 100);
    expect(await back(NOW + DAY_MS)).toMatchObject({ files: 3, lost: 0 });
    const { target } = await restore();
    database().$client.close();
    expect((await checkFolder(target, NOW)).findings).toEqual([]);
    backups = join(place, "others");
    expect(await back()).toMatchObject({ files: 2, lost: 1 });
    const second = await restore(backups, "second");
    database().$client.close();
    expect(second.restored.lost).toBe(1);
    expect((await checkFolder(second.target, NOW)).findings).toEqual([{ found: "file-missing", at: fileIds[0] }]);
  });

  test("after the practice key was changed holds the files as they are wrapped now; the one before, as they were", async () => {
    await back();
    await rotateKey(database(), world.dir, NOW);
    expect(await back(NOW + DAY_MS)).toMatchObject({ files: 3, added: 3, lost: 0 });
    for (const [n, name] of (await backupsIn(backups)).entries()) {
      const { target } = await restore(join(backups, name), `restored-${n}`);
      database().$client.close();
      expect((await checkFolder(target, NOW)).findings).toEqual([]);
    }
  });

  test("cut off half-way is none: what stood there stays, and the next one clears up", async () => {
    await back();
    mkdirSync(join(backups, "unfinished", "2026-11-28T00-00-00-000Z"), { recursive: true });
    writeFileSync(join(backups, "unfinished", "2026-11-28T00-00-00-000Z", "database"), "half");
    mkdirSync(join(world.dir, "backup-work"));
    writeFileSync(join(world.dir, "backup-work", "copy.db"), "half");
    expect((await restore()).restored.takenAt).toBe(NOW);
    // Its files are there before it is: they are not written again, but for one that is damaged.
    for (const name of await backupsIn(backups)) rmSync(join(backups, name), { recursive: true });
    turn(join(backups, "media", filesUnder(join(backups, "media"))[0] ?? ""), 200);
    expect(await back(NOW + 1)).toMatchObject({ files: 3, added: 1 });
    expect((await restore(backups, "second")).restored.files).toBe(3);
    expect(existsSync(join(backups, "unfinished", "2026-11-28T00-00-00-000Z"))).toBe(false);
    expect(existsSync(join(world.dir, "backup-work"))).toBe(false);
  });

  test("under writing: whole, and no older than when it was begun", async () => {
    const writer = { isOver: false };
    const writing = (async () => {
      for (let n = 0; !writer.isOver; n += 1) {
        await keepFiles(world.dir, "family", "child", 1);
        await new Promise((resolve) => setImmediate(resolve));
      }
    })();
    const lengths: (readonly number[])[] = [];
    for (let n = 0; n < 2; n += 1) {
      const before = chainEnd(database().$client)?.sequence ?? 0;
      await back(NOW + n);
      lengths.push([before, chainEnd(database().$client)?.sequence ?? 0]);
      const [newest = ""] = (await backupsIn(backups)).slice(-1);
      cpSync(backups, join(place, `copy-${n}`), { recursive: true });
      expect(newest).not.toBe("");
    }
    writer.isOver = true;
    await writing;
    for (const [n, [before = 0, after = 0]] of lengths.entries()) {
      const { target } = await restore(join(place, `copy-${n}`), `restored-${n}`);
      const chain = checkChain(database().$client);
      database().$client.close();
      expect(chain.brokenAt).toBeNull();
      // One entry more: the restore itself.
      expect(chain.count - 1).toBeGreaterThanOrEqual(before);
      expect(chain.count - 1).toBeLessThanOrEqual(after);
      expect((await checkFolder(target, NOW)).findings).toEqual([]);
    }
    expect((lengths.at(-1)?.[1] ?? 0)).toBeGreaterThan(lengths[0]?.[0] ?? 0);
  });

  test("that is no longer kept goes with the files that no other names", async () => {
    await back(NOW - 40 * DAY_MS);
    erase(`note-${fileIds[0]}`);
    await finishErasing(database(), mediaStore());
    expect(await back(NOW - DAY_MS)).toMatchObject({ files: 2, isPruneHeld: true });
    expect(filesUnder(join(backups, "media"))).toHaveLength(3);
    expect(await back(NOW)).toMatchObject({ dropped: 1, isPruneHeld: false });
    expect(filesUnder(join(backups, "media"))).toHaveLength(2);
    expect(await backupsIn(backups)).toHaveLength(2);
    expect(await faultOf(restore())).toBe("none");
  });
});

const erase = (id: string): boolean => database().transaction((tx) => eraseRows(tx, [{ kind: "voice-note", id, erasedAt: NOW }]).length === 1, { behavior: "immediate" });

describe("what was erased after the backup", () => {
  test("does not come back, with its row and its file", async () => {
    await back();
    const [first = ""] = await backupsIn(backups);
    erase(`note-${fileIds[0]}`);
    await finishErasing(database(), mediaStore());
    await back(NOW + DAY_MS);
    const { target, restored } = await restore(join(backups, first));
    const rows = database().$client.prepare("select id from voice_notes").pluck().all();
    expect(restored.erasedAgain).toBe(1);
    expect(rows).toHaveLength(2);
    expect(rows).not.toContain(`note-${fileIds[0]}`);
    expect(filesUnder(join(target, "media")).some((name) => name.includes(fileIds[0] ?? ""))).toBe(false);
    expect(readFileSync(join(target, "trueside.db")).includes(fileIds[0] ?? "")).toBe(true); // the chain's own entry of it, a random id
    database().$client.close();
    expect((await checkFolder(target, NOW)).findings).toEqual([]);
  });

  test("a list that was changed, cut short, or taken away stops the restore; half a line at its end does not", async () => {
    erase(`note-${fileIds[0]}`);
    await back();
    const list = join(backups, "erased");
    const text = readFileSync(list, "utf8");
    expect(text.split("\n")).toHaveLength(2);
    expect(text).not.toContain(CANARY);
    for (const other of [text.replace("voice-note", "family"), text.replace(/"erasedAt":\d/, '"erasedAt":9'), text.replace("{", "{,"), "", text.slice(0, 20)]) {
      writeFileSync(list, other);
      expect(await faultOf(restore()), relative(place, list)).toBe("erased-damaged");
    }
    rmSync(list);
    expect(await faultOf(restore())).toBe("erased-damaged");
    writeFileSync(list, `${text}{"id":"no`);
    expect(await faultOf(restore())).toBe("none");
    process.env["DATA_DIR"] = world.dir;
    erase(`note-${fileIds[1]}`);
    await back(NOW + 1);
    expect(readFileSync(list, "utf8").split("\n").filter((line) => line.endsWith("}"))).toHaveLength(2);
  });
});

describe("a restored practice", () => {
  test("has nobody signed in, and the restore in its history", async () => {
    database().insert(sessions).values({ id: "s", tokenHash: "t", personId: "lead", createdAt: 0, lastSeenAt: NOW, endsAt: NOW * 2 }).run();
    await back();
    const { restored } = await restore(backups, "restored", key, NOW + 5);
    expect(restored.sessionsEnded).toBe(1);
    expect(database().select({ endedAt: sessions.endedAt }).from(sessions).all()).toEqual([{ endedAt: NOW + 5 }]);
    expect(database().$client.prepare("select act from audit_entries order by sequence desc limit 1").pluck().get()).toBe("practice.restored");
  });

  test("goes into an empty folder alone", () => {
    const target = join(place, "target");
    refuseContent(target);
    mkdirSync(target);
    refuseContent(target);
    writeFileSync(join(target, ".hidden"), "");
    expect(() => refuseContent(target)).toThrow("target-not-empty");
    expect(() => refuseContent(join(target, ".hidden"))).toThrow("target-not-empty");
  });
});

/** Turns one bit over where the file lies. */
function turn(path: string, at: number): void {
  const bytes = readFileSync(path);
  bytes[at] = (bytes[at] ?? 0) ^ 1;
  writeFileSync(path, bytes);
}
