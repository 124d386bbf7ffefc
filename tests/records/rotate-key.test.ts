import { mkdirSync, readdirSync, readFileSync, renameSync, rmdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, expect, it } from "vitest";
import { database } from "@/db/client";
import { mediaFiles } from "@/db/schema/photos";
import { checkFolder } from "@/lib/backup/check-folder";
import { keyIdOf } from "@/lib/media/frames";
import { openFolderStore } from "@/lib/media/folder-store";
import { openPracticeStore } from "@/lib/media/practice-store";
import { openSecrets } from "@/lib/media/secrets";
import { rotateKey } from "@/lib/records/rotate-key";
import { keepFiles } from "@/tests/records/kept-files";
import { addFamilyOf, addPerson, makeWorld } from "@/tests/records/world";

const NOW = Date.UTC(2026, 2, 2, 10);
let world: ReturnType<typeof makeWorld>;
let kept: readonly string[];

beforeEach(async () => {
  world = makeWorld();
  addPerson("lead", "lead");
  addPerson("mother", "guardian");
  addFamilyOf("family", ["child"], { mother: ["child"] });
  kept = await keepFiles(world.dir, "family", "child", 4);
});
afterEach(() => world.close());

const keyNames = () => readdirSync(join(world.dir, "keys")).filter((name) => name.startsWith("mediaKey"));
const pathOf = (fileId: string) => join(world.dir, "media", fileId.slice(0, 2), fileId.slice(2, 4), fileId);
const findings = async () => (await checkFolder(world.dir, NOW)).findings.filter(({ found }) => found.startsWith("file") || found === "audit-broken");
const readAll = () => Promise.all(kept.map((fileId) => openPracticeStore(world.dir).read(fileId)));

it("every file opens by the new key alone, with the same bytes", async () => {
  const before = openSecrets(world.dir).mediaKey;
  const bytes = await readAll();
  expect(await rotateKey(database(), world.dir, NOW)).toEqual({ files: 4, unopened: 0 });
  const after = openSecrets(world.dir).mediaKey;
  expect(after.equals(before)).toBe(false);
  expect(keyNames()).toEqual(["mediaKey"]);
  expect(await readAll()).toEqual(bytes);
  for (const fileId of kept) await expect(openFolderStore(join(world.dir, "media"), { current: before }).read(fileId)).rejects.toMatchObject({ fault: "unknown-key" });
  expect(new Set(database().select({ keyId: mediaFiles.keyId }).from(mediaFiles).all().map(({ keyId }) => keyId))).toEqual(new Set([keyIdOf(after)]));
  expect(await findings()).toEqual([]);
});

it.each([0, 2])("cut off after %i files, everything opens; the next run ends it", async (done) => {
  const before = openSecrets(world.dir).mediaKey;
  const bytes = await readAll();
  const db = database();
  // A file that cannot be read as one ends the run there, as a power cut would.
  const listed: string[] = [];
  for await (const { fileId } of openPracticeStore(world.dir).list()) listed.push(fileId);
  const path = pathOf(listed[done] ?? "");
  renameSync(path, join(world.dir, "aside"));
  mkdirSync(path);
  await expect(rotateKey(db, world.dir, NOW)).rejects.toThrow("EISDIR");
  rmdirSync(path);
  renameSync(join(world.dir, "aside"), path);
  expect(keyNames()).toEqual(["mediaKey", `mediaKey-before-${keyIdOf(before)}`]);
  expect(await readAll()).toEqual(bytes);
  expect(await findings()).toEqual([]);
  const begun = openSecrets(world.dir).mediaKey;
  expect(await rotateKey(db, world.dir, NOW + 1)).toEqual({ files: 4, unopened: 0 });
  expect(openSecrets(world.dir).mediaKey.equals(begun)).toBe(true);
  expect(keyNames()).toEqual(["mediaKey"]);
  expect(await readAll()).toEqual(bytes);
});

it("a damaged file is counted and left, and holds nothing up", async () => {
  const [broken = ""] = kept;
  const bytes = readFileSync(pathOf(broken));
  bytes.writeUInt8(bytes.readUInt8(50) ^ 1, 50);
  writeFileSync(pathOf(broken), bytes);
  expect(await rotateKey(database(), world.dir, NOW)).toEqual({ files: 3, unopened: 1 });
  expect(await findings()).toEqual([{ found: "file-of-another-key", at: broken }]);
});
