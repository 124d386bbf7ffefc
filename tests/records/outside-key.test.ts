import { spawnSync } from "node:child_process";
import { randomBytes } from "node:crypto";
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, renameSync, rmdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { database } from "@/db/client";
import { checkFolder } from "@/lib/backup/check-folder";
import { BackupFault } from "@/lib/backup/fault";
import { restoreBackup } from "@/lib/backup/restore";
import { takeBackup } from "@/lib/backup/take";
import { keyIdOf } from "@/lib/media/frames";
import { openPracticeStore } from "@/lib/media/practice-store";
import { openSecrets, OutsideKeyRefused, SecretsDamaged } from "@/lib/media/secrets";
import { keyRefused, rotateKey } from "@/lib/records/rotate-key";
import { applyTombstones } from "@/lib/records/tombstones";
import { keepFiles } from "@/tests/records/kept-files";
import { addFamilyOf, addPerson, makeWorld } from "@/tests/records/world";

const NOW = Date.UTC(2026, 10, 28, 9);
let world: ReturnType<typeof makeWorld>;
let aside: string;

beforeEach(() => {
  world = makeWorld();
  aside = mkdtempSync(join(tmpdir(), "trueside-outside-"));
  process.env["MEDIA_KEY_FILE"] = keyFile("key");
  writeFileSync(join(world.dir, "kind"), "real\n");
  addPerson("lead", "lead");
  addPerson("mother", "guardian");
  addFamilyOf("family", ["child"], { mother: ["child"] });
});
afterEach(() => {
  delete process.env["MEDIA_KEY_FILE"];
  database().$client.close();
  process.env["DATA_DIR"] = world.dir;
  world.close();
  rmSync(aside, { recursive: true });
});

const keep = (): Promise<readonly string[]> => keepFiles(world.dir, "family", "child", 3);
function keyFile(name: string, bytes = randomBytes(32)): string {
  writeFileSync(join(aside, name), bytes, { mode: 0o600 });
  return join(aside, name);
}
const use = (path: string | null): void => {
  if (path === null) delete process.env["MEDIA_KEY_FILE"];
  else process.env["MEDIA_KEY_FILE"] = path;
};
const keyNames = (dir = world.dir): readonly string[] => readdirSync(join(dir, "keys")).sort();
const findings = async (dir = world.dir) => (await checkFolder(dir, NOW)).findings.map(({ found }) => found).filter((found) => found !== "mark-unreadable");
const isIn = (folder: string, bytes: Buffer): boolean => readdirSync(folder, { recursive: true, withFileTypes: true }).filter((entry) => entry.isFile()).some(({ parentPath, name }) => readFileSync(join(parentPath, name)).includes(bytes));
const readAll = (fileIds: readonly string[]) => Promise.all(fileIds.map((fileId) => openPracticeStore(world.dir).read(fileId)));

test("kept outside, the practice key is nowhere in the data folder, and everything opens by it", async () => {
  const kept = await keep();
  expect(keyNames()).toEqual(["pushKey", "sessionSecret", "signInKey"]);
  expect(isIn(world.dir, readFileSync(join(aside, "key")))).toBe(false);
  expect((await readAll(kept)).map((bytes) => bytes.length)).toEqual([100_000, 100_001, 100_002]);
  expect(await findings()).toEqual([]);
  expect(keyRefused(database(), world.dir)).toBeNull();
});

test("another key, none, or one that is no key is refused before anything is stored under it", async () => {
  await keep();
  use(keyFile("another"));
  expect(keyRefused(database(), world.dir)).toMatch(/opens none of the photos/);
  use(join(aside, "not-there"));
  expect(() => openSecrets(world.dir)).toThrow(OutsideKeyRefused);
  expect(await findings()).toEqual(["keys-missing"]);
  for (const bytes of [randomBytes(31), randomBytes(33), Buffer.alloc(0)]) {
    use(keyFile("wrong", bytes));
    expect(() => openSecrets(world.dir)).toThrow(/exactly 32 bytes/);
  }
  use(null);
  expect(() => openSecrets(world.dir)).toThrow(SecretsDamaged);
  expect(keyNames()).toEqual(["pushKey", "sessionSecret", "signInKey"]);
});

test("a start says it in one sentence, and makes no key of its own", async () => {
  await keep();
  database().$client.close();
  const start = (dataDir: string, file: string) => spawnSync(process.execPath, ["--import", "./lib/cli/runner.mjs", "lib/cli/prepare.ts"], { encoding: "utf8", env: { ...process.env, DATA_DIR: dataDir, DEMO: "0", MEDIA_KEY_FILE: file } });
  const refused = start(world.dir, keyFile("another"));
  expect([refused.status, refused.stdout, refused.stderr.trim()]).toEqual([1, "", "This practice key opens none of the photos in the data folder: it is another practice's, or from before it was changed. Put the right one in its place and start again; nothing was changed."]);
  const first = join(aside, "first");
  mkdirSync(first);
  writeFileSync(join(first, "kind"), "real\n");
  expect(start(first, join(aside, "key")).status).toBe(0);
  expect(keyNames(first)).toContain("sessionSecret");
  expect(keyNames(first)).not.toContain("mediaKey");
  expect(isIn(first, readFileSync(join(aside, "key")))).toBe(false);
});

describe("a change of key", () => {
  test("goes from one file to the next; the one before opens nothing afterwards", async () => {
    const kept = await keep();
    const bytes = await readAll(kept);
    const next = keyFile("next");
    await expect(rotateKey(database(), world.dir, NOW)).rejects.toThrow(/NEW_KEY_FILE/);
    await expect(rotateKey(database(), world.dir, NOW, readFileSync(join(aside, "key")))).rejects.toThrow(/already/);
    expect(await rotateKey(database(), world.dir, NOW, readFileSync(next))).toEqual({ files: 3, unopened: 0 });
    expect(keyRefused(database(), world.dir)).toMatch(/opens none/);
    await expect(readAll(kept)).rejects.toMatchObject({ fault: "unknown-key" });
    use(next);
    expect(await readAll(kept)).toEqual(bytes);
    expect([keyRefused(database(), world.dir), await findings()]).toEqual([null, []]);
    expect(database().$client.prepare("select object_id from audit_entries where act = 'media-key.changed-at-machine'").pluck().all()).toEqual([keyIdOf(readFileSync(next))]);
  });

  test("cut off, it is not served by either key, takes no third one, and is ended by the next run", async () => {
    const kept = await keep();
    const bytes = await readAll(kept);
    const [next, third] = [readFileSync(keyFile("next")), randomBytes(32)];
    const listed: string[] = [];
    for await (const { fileId } of openPracticeStore(world.dir).list()) listed.push(fileId);
    // A file that cannot be read as one ends the run there, as a power cut would.
    const last = listed.at(-1) ?? "";
    const path = join(world.dir, "media", last.slice(0, 2), last.slice(2, 4), last);
    renameSync(path, join(aside, "file"));
    mkdirSync(path);
    await expect(rotateKey(database(), world.dir, NOW, next)).rejects.toThrow("EISDIR");
    rmdirSync(path);
    renameSync(join(aside, "file"), path);
    expect(keyRefused(database(), world.dir)).toMatch(/cut off/);
    await expect(rotateKey(database(), world.dir, NOW, third)).rejects.toThrow(/cut off/);
    await expect(rotateKey(database(), world.dir, NOW)).rejects.toThrow(/cut off/);
    expect(await rotateKey(database(), world.dir, NOW, next)).toEqual({ files: 3, unopened: 0 });
    use(join(aside, "next"));
    expect(await readAll(kept)).toEqual(bytes);
    expect(keyRefused(database(), world.dir)).toBeNull();
  });

  test("takes the key of a practice that kept it in its folder out of there", async () => {
    use(null);
    const kept = await keep();
    const bytes = await readAll(kept);
    const inside = openSecrets(world.dir).mediaKey;
    const next = keyFile("next");
    use(next);
    expect(() => openSecrets(world.dir)).toThrow(/of its own/);
    use(null);
    expect(await rotateKey(database(), world.dir, NOW, readFileSync(next))).toEqual({ files: 3, unopened: 0 });
    use(next);
    expect(keyNames()).not.toContain("mediaKey");
    expect([isIn(world.dir, inside), isIn(world.dir, readFileSync(next))]).toEqual([false, false]);
    expect(await readAll(kept)).toEqual(bytes);
  });
});

describe("a backup", () => {
  const key = randomBytes(32);
  const back = () => takeBackup(world.dir, join(aside, "backups"), { key, isKept: true }, NOW);
  async function restore(to: string): Promise<string> {
    const target = join(aside, to);
    mkdirSync(target, { recursive: true });
    process.env["DATA_DIR"] = target;
    return restoreBackup(join(aside, "backups"), target, key, applyTombstones, NOW).then(() => "restored", (error: unknown) => (error instanceof BackupFault ? error.fault : String(error)));
  }

  test("does not hold it, and is put back whole by whoever has both keys", async () => {
    const kept = await keep();
    const bytes = await readAll(kept);
    expect(await back()).toMatchObject({ files: 3, lost: 0 });
    expect(await restore("restored")).toBe("restored");
    const target = join(aside, "restored");
    expect(keyNames(target)).not.toContain("mediaKey");
    expect(await findings(target)).toEqual([]);
    expect(await Promise.all(kept.map((fileId) => openPracticeStore(target).read(fileId)))).toEqual(bytes);
  });

  test("is not put back without it, nor by another one", async () => {
    await keep();
    await back();
    const own = join(aside, "key");
    for (const [name, file] of [["to-none", null], ["to-another", keyFile("another")], ["to-gone", join(aside, "not-there")]] as const) {
      use(file);
      expect([name, await restore(name), readdirSync(join(aside, name))]).toEqual([name, "practice-key", []]);
    }
    use(own);
    expect(await restore("right")).toBe("restored");
  });

  test("of a practice whose key lies in its folder holds it, and takes none from outside", async () => {
    use(null);
    await keep();
    await back();
    use(keyFile("another"));
    expect(await restore("with-another")).toBe("practice-key-inside");
    use(null);
    expect(await restore("alone")).toBe("restored");
    expect(keyNames(join(aside, "alone"))).toContain("mediaKey");
  });
});
