import { createDecipheriv, createHash, randomBytes } from "node:crypto";
import { existsSync } from "node:fs";
import { mkdir, mkdtemp, readdir, readFile, rm, stat, utimes, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import * as fc from "fast-check";
import { afterAll, beforeAll, describe, expect, test, vi } from "vitest";
import { BucketAway, openBucket, type Bucket } from "@/lib/media/bucket";
import { openBucketStore } from "@/lib/media/bucket-store";
import { openFolderStore } from "@/lib/media/folder-store";
import { openSecrets, SecretsDamaged } from "@/lib/media/secrets";
import { MediaError, type MediaStore } from "@/lib/media/store";
import { sweep } from "@/lib/media/sweep";
import { BucketServer } from "./bucket-server";
import { openMemoryStore } from "./memory-store";

const KEY = randomBytes(32);
const FRAME = 64 * 1024;
const HEADER = 88;
const SEALED_FRAME = FRAME + 16;
let root: string;

beforeAll(async () => {
  root = await mkdtemp(join(tmpdir(), "media-"));
});
afterAll(() => rm(root, { recursive: true }));

const pathOf = (folder: string, fileId: string) => join(folder, fileId.slice(0, 2), fileId.slice(2, 4), fileId);
const sha256 = (bytes: Buffer) => createHash("sha256").update(bytes).digest("hex");
const freshFolder = () => mkdtemp(join(root, "store-"));

type Keys = { readonly current: Buffer; readonly earlier?: readonly Buffer[] };
/** A store, the same again under other keys, and its files as they lie there, for whoever would change them. */
type Place = {
  open(keys: Keys): MediaStore;
  sealed(fileId: string): Promise<Buffer>;
  replace(fileId: string, sealed: Buffer): Promise<void>;
};

async function folderPlace(): Promise<Place & { readonly folder: string }> {
  const folder = await freshFolder();
  return { folder, open: (keys) => openFolderStore(folder, keys), sealed: (fileId) => readFile(pathOf(folder, fileId)), replace: (fileId, sealed) => writeFile(pathOf(folder, fileId), sealed) };
}

let server: BucketServer;
let bucket: Bucket;
beforeAll(async () => {
  server = new BucketServer("photos");
  const secretFile = join(root, "secret");
  await writeFile(secretFile, `${server.secret}\n`);
  bucket = openBucket({ name: "photos", endpoint: await server.open(), region: server.region, keyId: server.keyId, secretFile });
});
afterAll(() => server.close());

async function bucketPlace(): Promise<Place> {
  server.objects.clear();
  const keyOf = (fileId: string) => `media/${fileId}`;
  return {
    open: (keys) => openBucketStore(bucket, keys),
    sealed: async (fileId) => server.objects.get(keyOf(fileId))?.bytes ?? Buffer.alloc(0),
    replace: async (fileId, sealed) => void server.objects.set(keyOf(fileId), { bytes: sealed, at: Date.now() }),
  };
}

const places: readonly (readonly [string, () => Promise<Place>])[] = [["folder", folderPlace], ["bucket", bucketPlace]];
const stores: readonly (readonly [string, () => Promise<MediaStore>])[] = [
  ...places.map(([name, make]) => [name, async () => (await make()).open({ current: KEY })] as const),
  ["memory", async () => openMemoryStore()],
];

describe.each(stores)("any media store: %s", (_name, make) => {
  test.each([0, 1, FRAME - 1, FRAME, FRAME + 1, 3 * FRAME, 200_000])("gives back %i bytes as they were", async (length) => {
    const store = await make();
    const bytes = randomBytes(length);
    const stored = await store.put(bytes);
    expect(stored).toMatchObject({ byteLength: length, sha256: sha256(bytes) });
    expect(stored.fileId).toMatch(/^[0-9a-f]{32}$/);
    expect((await store.read(stored.fileId)).equals(bytes)).toBe(true);
  });

  test("any range is the same slice of the whole", async () => {
    const store = await make();
    const bytes = randomBytes(3 * FRAME + 777);
    const { fileId } = await store.put(bytes);
    const place = fc.integer({ min: 0, max: bytes.length + 10 });
    await fc.assert(
      fc.asyncProperty(place, place, async (a, b) => {
        const range = { start: Math.min(a, b), end: Math.max(a, b) };
        const read = await store.read(fileId, range);
        expect(read.equals(bytes.subarray(range.start, range.end))).toBe(true);
      }),
      { numRuns: 60, examples: [[0, FRAME], [FRAME, 2 * FRAME], [FRAME - 1, FRAME + 1], [0, 0], [bytes.length, bytes.length]] },
    );
  });

  test("erased is gone at once, and erasing twice is no error", async () => {
    const store = await make();
    const { fileId } = await store.put(randomBytes(100));
    await store.erase(fileId);
    await expect(store.read(fileId)).rejects.toMatchObject({ fault: "missing" });
    await store.erase(fileId);
  });

  test("an id that is no id never reaches further", async () => {
    const store = await make();
    for (const bad of ["", "../../etc/passwd", "..%2f", "a".repeat(31), `${"a".repeat(31)}\0`, "A".repeat(32), "/etc/passwd"]) {
      await expect(store.read(bad)).rejects.toMatchObject({ fault: "missing" });
      await expect(store.erase(bad)).rejects.toMatchObject({ fault: "missing" });
    }
  });

  test("a file taken as it lies there is the same under its id in its place again", async () => {
    const store = await make();
    const bytes = randomBytes(FRAME + 5);
    const { fileId } = await store.put(bytes);
    const sealed = await store.readSealed(fileId);
    await store.erase(fileId);
    await expect(store.readSealed(fileId)).rejects.toMatchObject({ fault: "missing" });
    await store.putSealed(fileId, sealed);
    expect((await store.read(fileId)).equals(bytes)).toBe(true);
    await expect(store.putSealed("../elsewhere", sealed)).rejects.toMatchObject({ fault: "missing" });
    expect(await store.isReady()).toBe(true);
  });

  test("a sweep removes files without rows, keeps young ones, and names rows without files", async () => {
    const store = await make();
    const kept = await store.put(randomBytes(10));
    const orphan = await store.put(randomBytes(10));
    const lost = "f".repeat(32);
    expect(await sweep(store, [kept.fileId, lost], 0)).toEqual({ removed: [], missing: [lost], held: [] });
    const swept = await sweep(store, [kept.fileId, lost], Date.now() + 1000);
    expect(swept).toEqual({ removed: [orphan.fileId], missing: [lost], held: [] });
    await expect(store.read(orphan.fileId)).rejects.toMatchObject({ fault: "missing" });
    expect((await store.read(kept.fileId)).length).toBe(10);
  });

  test("a sweep against an empty database holds back instead of erasing every photo", async () => {
    const store = await make();
    for (let index = 0; index < 21; index += 1) await store.put(randomBytes(10));
    const swept = await sweep(store, [], Date.now() + 1000);
    expect(swept.removed).toEqual([]);
    expect(swept.held).toHaveLength(21);
  });
});

describe.each(places)("sealed files in any place: %s", (_name, make) => {
  const LENGTH = 3 * FRAME + 500;

  async function stored(bytes = randomBytes(LENGTH)) {
    const place = await make();
    const store = place.open({ current: KEY });
    const { fileId } = await store.put(bytes);
    return { place, store, fileId, bytes, sealed: await place.sealed(fileId) };
  }

  test("nothing of the plain bytes stands in the file; the same search finds them in the plain bytes", async () => {
    const marker = Buffer.from("GPS-MARKER of a family photo");
    const plain = Buffer.concat([randomBytes(50_000), marker, randomBytes(50_000)]);
    const { sealed } = await stored(plain);
    expect(plain.includes(marker)).toBe(true);
    expect(sealed.length).toBeGreaterThan(plain.length);
    expect(sealed.includes(marker)).toBe(false);
  });

  test("the same bytes twice look nothing alike", async () => {
    const bytes = Buffer.alloc(2 * FRAME);
    const [{ sealed: first }, { sealed: second }] = [await stored(bytes), await stored(bytes)];
    expect(first.length).toBe(HEADER + 2 * SEALED_FRAME);
    expect(first.subarray(HEADER).equals(second.subarray(HEADER))).toBe(false);
    expect(first.subarray(HEADER, HEADER + FRAME).equals(first.subarray(HEADER + SEALED_FRAME, HEADER + SEALED_FRAME + FRAME))).toBe(false);
  });

  test("a flipped bit anywhere is refused", async () => {
    const { store, fileId, place, sealed } = await stored();
    const flipped = [0, 4, 13, 20, 21, 28, 40, 71, 72, 87, HEADER, HEADER + FRAME, HEADER + SEALED_FRAME + 5, sealed.length - 1];
    for (const at of flipped) {
      const damaged = Buffer.from(sealed);
      damaged[at] = (damaged[at] ?? 0) ^ 1;
      await place.replace(fileId, damaged);
      await expect(store.read(fileId), `byte ${at}`).rejects.toMatchObject({ fault: "damaged" });
    }
    await place.replace(fileId, sealed);
    expect((await store.read(fileId)).length).toBe(LENGTH);
  });

  const reshaped: readonly (readonly [string, (sealed: Buffer) => Buffer])[] = [
    ["cut inside a frame", (b) => b.subarray(0, b.length - 100)],
    ["cut between frames", (b) => b.subarray(0, HEADER + 3 * SEALED_FRAME)],
    ["cut to its header", (b) => b.subarray(0, HEADER)],
    ["cut inside its header", (b) => b.subarray(0, HEADER - 1)],
    ["emptied", () => Buffer.alloc(0)],
    ["lengthened", (b) => Buffer.concat([b, Buffer.alloc(SEALED_FRAME)])],
    ["two frames changed over", (b) => swapFrames(b, 0, 1)],
    ["a frame repeated", (b) => Buffer.concat([b.subarray(0, HEADER + SEALED_FRAME), b.subarray(HEADER, HEADER + SEALED_FRAME), b.subarray(HEADER + 2 * SEALED_FRAME)])],
  ];
  test.each(reshaped)("%s: refused", async (_what, reshape) => {
    const { store, fileId, place, sealed } = await stored();
    await place.replace(fileId, reshape(sealed));
    await expect(store.read(fileId)).rejects.toMatchObject({ fault: "damaged" });
    // Cut at the end, even a range that touches only the whole first frame must not pass as fine.
    if ((await place.sealed(fileId)).length !== HEADER + LENGTH + 4 * 16) {
      await expect(store.read(fileId, { start: 0, end: 10 })).rejects.toMatchObject({ fault: "damaged" });
    }
  });

  test("a file put in another's place is refused", async () => {
    const { store, place, fileId, sealed } = await stored(randomBytes(500));
    const other = await store.put(randomBytes(500));
    await place.replace(other.fileId, sealed);
    await expect(store.read(other.fileId)).rejects.toMatchObject({ fault: "damaged" });
    expect((await store.read(fileId)).length).toBe(500);
  });

  test("another key does not open it; an earlier key kept aside does, until the file is wrapped by the new one", async () => {
    const { place, fileId, bytes } = await stored();
    const later = randomBytes(32);
    await expect(place.open({ current: later }).read(fileId)).rejects.toMatchObject({ fault: "unknown-key" });
    const both = place.open({ current: later, earlier: [KEY] });
    expect((await both.read(fileId)).equals(bytes)).toBe(true);
    expect([await both.rewrap(fileId), await both.rewrap(fileId)]).toEqual([true, false]);
    expect((await place.open({ current: later }).read(fileId)).equals(bytes)).toBe(true);
    await expect(place.open({ current: KEY }).read(fileId)).rejects.toMatchObject({ fault: "unknown-key" });
  });

  test("node's own cipher opens the layout that the comment describes", async () => {
    const { fileId, bytes, sealed } = await stored();
    const open = (data: Buffer, key: Buffer, nonce: Buffer, aad?: Buffer) => {
      const decipher = createDecipheriv("aes-256-gcm", key, nonce);
      if (aad) decipher.setAAD(aad);
      decipher.setAuthTag(data.subarray(-16));
      return Buffer.concat([decipher.update(data.subarray(0, -16)), decipher.final()]);
    };
    const bound = Buffer.concat([sealed.subarray(0, 40), Buffer.from(fileId)]);
    const fileKey = open(sealed.subarray(40, 88), KEY, sealed.subarray(28, 40), bound);
    const nonce = Buffer.concat([sealed.subarray(21, 28), Buffer.from([0, 0, 0, 1, 0])]);
    const second = open(sealed.subarray(HEADER + SEALED_FRAME, HEADER + 2 * SEALED_FRAME), fileKey, nonce);
    expect(second.equals(bytes.subarray(FRAME, 2 * FRAME))).toBe(true);
  });
});

describe("the folder on disk", () => {
  async function stored() {
    const place = await folderPlace();
    const store = place.open({ current: KEY });
    const { fileId } = await store.put(randomBytes(500));
    return { folder: place.folder, store, fileId, path: pathOf(place.folder, fileId) };
  }

  test("directories are 0700, files 0600, and nothing is left half-written", async () => {
    const { folder, path, fileId } = await stored();
    expect((await stat(path)).mode & 0o777).toBe(0o600);
    expect((await stat(join(folder, fileId.slice(0, 2)))).mode & 0o777).toBe(0o700);
    expect((await stat(join(folder, "unfinished"))).mode & 0o777).toBe(0o700);
    expect(await readdir(join(folder, "unfinished"))).toEqual([]);
  });

  test("what a crash left half-written is cleared once it is old", async () => {
    const { folder, store, fileId } = await stored();
    const left = join(folder, "unfinished", "left");
    await writeFile(left, "half");
    expect(await store.clearUnfinished(Date.now() - 60_000)).toBe(0);
    await utimes(left, 1, 1);
    expect(await store.clearUnfinished(Date.now() - 60_000)).toBe(1);
    expect(existsSync(left)).toBe(false);
    expect((await store.read(fileId)).length).toBe(500);
  });
});

function swapFrames(sealed: Buffer, one: number, two: number): Buffer {
  const at = (index: number) => sealed.subarray(HEADER + index * SEALED_FRAME, HEADER + (index + 1) * SEALED_FRAME);
  const swapped = Buffer.from(sealed);
  at(two).copy(swapped, HEADER + one * SEALED_FRAME);
  at(one).copy(swapped, HEADER + two * SEALED_FRAME);
  return swapped;
}

test("a fault is known whichever copy of its class threw it: the framework bundles it several times", async () => {
  vi.resetModules();
  const other = await import("@/lib/media/store");
  expect(other.MediaError).not.toBe(MediaError);
  expect(new other.MediaError("disk-full")).toBeInstanceOf(MediaError);
  expect([new Error("no"), null, { fault: "disk-full" }].some((each) => each instanceof MediaError)).toBe(false);
  const away = new BucketAway("refused", "AccessDenied");
  expect([away instanceof other.MediaError, new other.MediaError("unreachable") instanceof BucketAway]).toEqual([true, false]);
});

describe("keys", () => {
  test("made once, 32 different random bytes each, folder 0700, files 0600, the same at the next start", async () => {
    const dataDir = join(await mkdtemp(join(root, "keys-")), "data");
    const made = openSecrets(dataDir);
    const all = Object.values(made);
    expect(all.map((key) => key.length)).toEqual([32, 32, 32, 32]);
    expect(new Set(all.map((key) => key.toString("hex"))).size).toBe(all.length);
    expect((await stat(join(dataDir, "keys"))).mode & 0o777).toBe(0o700);
    for (const name of await readdir(join(dataDir, "keys"))) {
      expect((await stat(join(dataDir, "keys", name))).mode & 0o777).toBe(0o600);
    }
    expect(await readdir(dataDir)).toEqual(["keys"]);
    expect(openSecrets(dataDir)).toEqual(made);
  });

  test("never made anew where photos already are, nor when one is missing or short", async () => {
    const dataDir = await mkdtemp(join(root, "keys-"));
    await mkdir(join(dataDir, "media"));
    expect(() => openSecrets(dataDir)).toThrow(SecretsDamaged);
    const inBucket = await mkdtemp(join(root, "keys-"));
    await writeFile(join(inBucket, "bucket"), "of another start");
    expect(() => openSecrets(inBucket)).toThrow(SecretsDamaged);
    const other = await mkdtemp(join(root, "keys-"));
    openSecrets(other);
    await writeFile(join(other, "keys", "mediaKey"), "short");
    expect(() => openSecrets(other)).toThrow(SecretsDamaged);
    await rm(join(other, "keys", "mediaKey"));
    expect(() => openSecrets(other)).toThrow(SecretsDamaged);
    expect(await readdir(join(other, "keys"))).toHaveLength(3);
  });
});
