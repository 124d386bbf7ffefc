import { createHash } from "node:crypto";
import { mkdirSync, mkdtempSync, readFileSync, renameSync, rmSync, unlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, test, vi } from "vitest";
import { database } from "@/db/client";
import { erasedFiles } from "@/db/schema/erasure";
import { isReady } from "@/lib/access/readiness";
import { refusedWithoutStorage } from "@/lib/access/action";
import { problemResponse } from "@/lib/access/handler";
import { checkFolder } from "@/lib/backup/check-folder";
import { restoreBackup } from "@/lib/backup/restore";
import { takeBackup } from "@/lib/backup/take";
import { placeSaid } from "@/lib/cli/said";
import { outcomeOf } from "@/lib/domain/sending/reply";
import { settlePlace } from "@/lib/media/place";
import { openPracticeStore } from "@/lib/media/practice-store";
import type { MediaStore } from "@/lib/media/store";
import { sweep } from "@/lib/media/sweep";
import { eraseRows } from "@/lib/records/erasing";
import { eraseUnclaimed, mediaStore } from "@/lib/records/media";
import { rotateKey } from "@/lib/records/rotate-key";
import { applyTombstones, finishErasing } from "@/lib/records/tombstones";
import { BucketServer } from "@/tests/photos/bucket-server";
import { keepFiles } from "@/tests/records/kept-files";
import { addFamilyOf, addPerson, makeWorld } from "@/tests/records/world";

const NOW = Date.UTC(2026, 10, 27, 21, 15);
const KEY = Buffer.alloc(32, 7);

let server: BucketServer;
let place: string;
let world: ReturnType<typeof makeWorld>;
let kept: readonly string[];

beforeEach(async () => {
  vi.spyOn(process.stderr, "write").mockReturnValue(true);
  place = mkdtempSync(join(tmpdir(), "trueside-bucket-"));
  server = new BucketServer("photos");
  writeFileSync(join(place, "secret"), server.secret);
  setTo(await server.open());
  world = makeWorld();
  writeFileSync(join(world.dir, "kind"), "real\n");
  addPerson("lead", "lead");
  addPerson("mother", "guardian");
  addFamilyOf("family", ["child"], { mother: ["child"] });
  await settlePlace(world.dir);
  kept = await keepFiles(world.dir, "family", "child", 3);
});
afterEach(async () => {
  database().$client.close();
  unset();
  process.env["DATA_DIR"] = world.dir;
  world.close();
  rmSync(place, { recursive: true });
  await server.close();
  vi.restoreAllMocks();
});

function setTo(endpoint: string, name = "photos"): void {
  Object.assign(process.env, { BUCKET: name, BUCKET_ENDPOINT: endpoint, BUCKET_REGION: server.region, BUCKET_KEY_ID: server.keyId, BUCKET_SECRET_FILE: join(place, "secret") });
}
function unset(): void {
  for (const name of ["BUCKET", "BUCKET_ENDPOINT", "BUCKET_REGION", "BUCKET_KEY_ID", "BUCKET_SECRET_FILE"]) delete process.env[name];
}
const said = (work: Promise<unknown>): Promise<string> => work.then(() => "nothing", (error: unknown) => placeSaid(error) ?? String(error));
const inBucket = (): readonly string[] => [...server.objects.keys()].filter((key) => key.startsWith("media/")).map((key) => key.slice("media/".length)).sort();
const hashOf = (bytes: Buffer): string => createHash("sha256").update(bytes).digest("hex");
const readAll = (store: MediaStore): Promise<readonly string[]> => Promise.all(kept.map(async (fileId) => hashOf(await store.read(fileId))));
const aNewFolder = (name: string): string => {
  const dir = join(place, name);
  mkdirSync(dir);
  return dir;
};

describe("which bucket a data folder has", () => {
  test("media lie in it and nowhere else, and the same folder finds them again", async () => {
    expect(inBucket()).toEqual([...kept].sort());
    await settlePlace(world.dir);
    expect((await openPracticeStore(world.dir).read(kept[0] ?? "")).length).toBe(100_000);
    expect(() => readFileSync(join(world.dir, "media"))).toThrow("ENOENT");
  });

  test("an empty one belongs to the first folder that takes it, and to no other", async () => {
    expect(await said(settlePlace(aNewFolder("other")))).toMatch(/another practice or copy/);
    server.objects.clear();
    expect(await said(settlePlace(world.dir))).toMatch(/not the one that this data folder's photos lie in/);
  });

  test("a start that ended in the middle goes on with the same id", async () => {
    server.objects.clear();
    const dir = aNewFolder("begun");
    server.room = 0;
    await expect(settlePlace(dir)).rejects.toMatchObject({ fault: "disk-full" });
    server.room = 1;
    await settlePlace(dir);
    const id = readFileSync(join(dir, "bucket"), "latin1");
    expect(server.objects.get("practice")?.bytes.toString()).toBe(id);
    renameSync(join(dir, "bucket"), join(dir, "bucket.new"));
    await settlePlace(dir);
    expect(readFileSync(join(dir, "bucket"), "latin1")).toBe(id);
  });

  test("settings left out or added later are refused, not taken for a practice without photos", async () => {
    const endpoint = process.env["BUCKET_ENDPOINT"] ?? "";
    unset();
    expect(await said(settlePlace(world.dir))).toMatch(/lie in a bucket: set BUCKET/);
    expect(() => openPracticeStore(world.dir)).toThrow("settings-missing");
    const dir = aNewFolder("folder");
    await openPracticeStore(dir).put(Buffer.from("a photo"));
    setTo(endpoint);
    expect(await said(settlePlace(dir))).toMatch(/lie in its data folder: unset BUCKET/);
    expect(() => openPracticeStore(aNewFolder("empty"))).toThrow("bucket-not-ours-yet");
  });

  test.each(["Enabled", "Suspended"] as const)("one whose versions are %s is refused, and an erasure there is none", async (versioning) => {
    server.versioning = versioning;
    expect(await said(settlePlace(world.dir))).toMatch(/keeps older versions/);
    server.objects.clear();
    expect(await said(settlePlace(aNewFolder("new")))).toMatch(/keeps older versions/);
    await expect(openPracticeStore(world.dir).erase(kept[0] ?? "")).rejects.toMatchObject({ why: "keeps-versions" });
  });

  const wrong: readonly (readonly [string, () => void, RegExp])[] = [
    ["a secret that is another", () => writeFileSync(join(place, "secret"), "another"), /refuses the key.*SignatureDoesNotMatch/],
    ["a secret that is gone", () => unlinkSync(join(place, "secret")), /cannot be reached.*ENOENT/],
    ["a bucket that is not there", () => setTo(process.env["BUCKET_ENDPOINT"] ?? "", "others"), /no bucket of this name/],
    ["a server that cuts the line", () => void (server.isAway = true), /cannot be reached/],
    ["a bucket with files of others", () => void server.objects.set("letters/1", { bytes: Buffer.alloc(1), at: 0 }), /not ours/],
  ];
  test.each(wrong)("%s is said in one sentence", async (_what, make, sentence) => {
    server.objects.clear();
    make();
    expect(await said(settlePlace(aNewFolder("new")))).toMatch(sentence);
    expect(server.objects.has("practice")).toBe(false);
  });
});

describe("a bucket that does not answer", () => {
  test("refuses a photo with 503, so that the phone keeps it and comes again; nothing of it is left behind", async () => {
    server.isAway = true;
    const refusal = await mediaStore().put(Buffer.from("a photo")).then(() => null, refusedWithoutStorage);
    if (refusal === null || refusal.ok) throw new Error("it was kept");
    const response = problemResponse(refusal.problem);
    expect([response.status, response.headers.get("retry-after"), refusal.problem.code]).toEqual([503, "30", "storage-away"]);
    expect(outcomeOf({ status: response.status, retryAfter: 30, text: await response.text() })).toEqual({ kind: "busy", seconds: 30 });
    expect(await isReady()).toBe(false);
    server.isAway = false;
    expect(await isReady()).toBe(true);
    expect(inBucket()).toEqual([...kept].sort());
  });

  test("loses no erasure: the rows are gone at once, the file goes when it is back", async () => {
    const [gone = ""] = kept;
    database().transaction((tx) => eraseRows(tx, [{ kind: "voice-note", id: `note-${gone}`, erasedAt: NOW }]), { behavior: "immediate" });
    server.isAway = true;
    expect(await finishErasing(database(), mediaStore())).toBe(false);
    expect(database().select().from(erasedFiles).all()).toEqual([{ fileId: gone }]);
    server.isAway = false;
    expect(await finishErasing(database(), mediaStore())).toBe(true);
    expect(inBucket()).not.toContain(gone);
    expect(database().select().from(erasedFiles).all()).toEqual([]);
  });

  test("undoes no act that is done, and what it left is swept later", async () => {
    const { fileId } = await mediaStore().put(Buffer.from("of an act that was refused"));
    server.isAway = true;
    await eraseUnclaimed([fileId]);
    server.isAway = false;
    expect(await sweep(mediaStore(), kept, Date.now() - 60_000)).toMatchObject({ removed: [] });
    expect(await sweep(mediaStore(), kept, Date.now() + 60_000)).toEqual({ removed: [fileId], missing: [], held: [] });
  });

  test("makes no check and no backup that would call everything lost", async () => {
    server.isAway = true;
    await expect(checkFolder(world.dir, NOW)).rejects.toMatchObject({ fault: "unreachable" });
    await expect(takeBackup(world.dir, join(place, "backups"), { key: KEY, isKept: false }, NOW)).rejects.toMatchObject({ fault: "media-unreachable" });
  });
});

test("a check finds in a bucket what it finds in a folder", async () => {
  const [damaged = "", lost = ""] = kept;
  const object = server.objects.get(`media/${damaged}`);
  object?.bytes.writeUInt8((object.bytes.at(-1) ?? 0) ^ 1, object.bytes.length - 1);
  server.objects.delete(`media/${lost}`);
  server.objects.set(`media/${"e".repeat(32)}`, { bytes: Buffer.alloc(9), at: 0 });
  const { findings } = await checkFolder(world.dir, NOW);
  expect(findings.filter(({ found }) => found.startsWith("file"))).toEqual(expect.arrayContaining([
    { found: "file-damaged", at: damaged }, { found: "file-missing", at: lost }, { found: "file-without-row", at: "e".repeat(32) },
  ]));
});

test("a change of key wraps every object anew, listed yet or not, and goes on after the line was cut", async () => {
  server.unlisted.add(`media/${kept[1] ?? ""}`);
  const bytes = await readAll(mediaStore());
  server.isAway = true;
  await expect(rotateKey(database(), world.dir, NOW)).rejects.toMatchObject({ fault: "unreachable" });
  server.isAway = false;
  expect(await readAll(openPracticeStore(world.dir))).toEqual(bytes);
  expect(await rotateKey(database(), world.dir, NOW)).toEqual({ files: 3, unopened: 0 });
  expect(await readAll(openPracticeStore(world.dir))).toEqual(bytes);
});

describe("a backup", () => {
  const backups = () => join(place, "backups");
  const restoreTo = (name: string) => {
    const dir = aNewFolder(name);
    process.env["DATA_DIR"] = dir;
    return restoreBackup(backups(), dir, KEY, applyTombstones, NOW).then(() => dir);
  };

  test("holds the photos too, and is the way from a bucket into a folder and from a folder into a bucket", async () => {
    const bytes = await readAll(openPracticeStore(world.dir));
    expect(await takeBackup(world.dir, backups(), { key: KEY, isKept: false }, NOW)).toMatchObject({ files: 3, added: 3, lost: 0 });
    const asked = server.asked.length;
    expect(await takeBackup(world.dir, backups(), { key: KEY, isKept: false }, NOW + 1000)).toMatchObject({ files: 3, added: 0 });
    expect(server.asked.slice(asked)).toEqual([]);
    unset();
    const folder = await restoreTo("folder");
    expect(await readAll(openPracticeStore(folder))).toEqual(bytes);
    expect((await checkFolder(folder, NOW)).findings.filter(({ found }) => found.startsWith("file"))).toEqual([]);
    const other = new BucketServer("photos");
    setTo(await other.open());
    const again = await restoreTo("again");
    expect(await readAll(openPracticeStore(again))).toEqual(bytes);
    expect([...other.objects.keys()].sort()).toEqual([...kept.map((fileId) => `media/${fileId}`), "practice"].sort());
    await other.close();
  });

  test("is not restored into the bucket of the practice it was made of, and a restore that fails leaves an empty one", async () => {
    await takeBackup(world.dir, backups(), { key: KEY, isKept: false }, NOW);
    const before = [...server.objects.keys()];
    expect(await said(restoreTo("copy"))).toMatch(/another practice or copy/);
    expect([...server.objects.keys()]).toEqual(before);
    const other = new BucketServer("photos");
    setTo(await other.open());
    other.room = 3;
    await expect(restoreTo("half")).rejects.toMatchObject({ fault: "disk-full" });
    expect(other.asked.filter((each) => each.startsWith("PUT media/"))).toHaveLength(3);
    expect([...other.objects.keys()]).toEqual([]);
    await other.close();
  });
});
