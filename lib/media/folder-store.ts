import "server-only";
import { createHash, randomBytes } from "node:crypto";
import { readFile as readFileBack } from "node:fs";
import { open, readFile, rename, rm, stat, writeFile } from "node:fs/promises";
import { dirname, join } from "node:path";
import { promisify } from "node:util";
import { codeOf, makeFolder, namesIn, syncFolder, writeSynced } from "@/lib/media/durable";
import { HEADER_LENGTH, keyIdOf, rewrap, seal, unseal, type MediaKeys } from "@/lib/media/frames";
import { fileIn, MediaError, type ListedMedia, type MediaStore } from "@/lib/media/store";

/** A picture is asked for whole, many at a time; by callbacks that costs half of what it does by a handle and its promises. */
const readWhole = promisify(readFileBack);

const UNFINISHED = "unfinished";
/** In the folder of files being written, which whoever lists media passes over, and a start clears. */
const PROBE = "0".repeat(32);

/**
 * Media in a folder: `ab/cd/abcd…`, directories 0700, files 0600. A file is written aside, synced,
 * renamed, and its folder synced, so after a power cut it is either whole or not there.
 */
export function openFolderStore(folder: string, keys: MediaKeys): MediaStore {
  const pathOf = (fileId: string) => fileIn(folder, fileId);

  const write = async (fileId: string, sealed: Buffer): Promise<void> => {
    const aside = join(folder, UNFINISHED, fileId);
    const path = pathOf(fileId);
    try {
      await makeFolder(dirname(aside));
      await writeSynced(aside, sealed);
      await makeFolder(dirname(path));
      await rename(aside, path);
      await syncFolder(dirname(path));
    } catch (error) {
      await rm(aside, { force: true });
      if (["ENOSPC", "EDQUOT"].includes(codeOf(error))) throw new MediaError("disk-full");
      throw error;
    }
  };

  return {
    async put(bytes) {
      const fileId = randomBytes(16).toString("hex");
      await write(fileId, seal(bytes, fileId, keys.current));
      const sha256 = createHash("sha256").update(bytes).digest("hex");
      return { fileId, byteLength: bytes.length, sha256, keyId: keyIdOf(keys.current) };
    },

    async read(fileId, range) {
      if (!range) {
        const sealed = await readWhole(pathOf(fileId)).catch(missing);
        return unseal({ length: sealed.length, readBytes: async (start, end) => sealed.subarray(start, end) }, fileId, keys);
      }
      const file = await open(pathOf(fileId), "r").catch(missing);
      try {
        const { size } = await file.stat();
        const readBytes = async (start: number, end: number) => {
          const { buffer, bytesRead } = await file.read(Buffer.alloc(end - start), 0, end - start, start);
          return buffer.subarray(0, bytesRead);
        };
        return await unseal({ length: size, readBytes }, fileId, keys, range);
      } finally {
        await file.close();
      }
    },

    readSealed: async (fileId) => readFile(pathOf(fileId)).catch(missing),
    putSealed: write,

    async rewrap(fileId) {
      const sealed = await readFile(pathOf(fileId)).catch(missing);
      if (sealed.length < HEADER_LENGTH) throw new MediaError("damaged");
      const header = rewrap(sealed.subarray(0, HEADER_LENGTH), fileId, keys);
      if (header) await write(fileId, Buffer.concat([header, sealed.subarray(HEADER_LENGTH)]));
      return header !== null;
    },

    /** The wrapped key goes first: without it the rest is noise wherever the disk keeps it. */
    async erase(fileId) {
      const path = pathOf(fileId);
      try {
        const file = await open(path, "r+");
        await file.write(Buffer.alloc(HEADER_LENGTH), 0, HEADER_LENGTH, 0).then(() => file.sync()).finally(() => file.close());
        await rm(path);
        await syncFolder(dirname(path));
      } catch (error) {
        if (codeOf(error) !== "ENOENT") throw error;
      }
    },

    async *list() {
      for (const first of await namesIn(folder)) {
        if (first === UNFINISHED) continue;
        for (const second of await namesIn(join(folder, first))) {
          for (const fileId of await namesIn(join(folder, first, second))) {
            const listed = await describe(fileId, join(folder, first, second, fileId));
            if (listed) yield listed;
          }
        }
      }
    },

    async clearUnfinished(olderThanMs) {
      const aside = join(folder, UNFINISHED);
      let cleared = 0;
      for (const name of await namesIn(aside)) {
        const left = await describe(name, join(aside, name));
        if (!left || left.storedAtMs > olderThanMs) continue;
        await rm(join(aside, name), { force: true });
        cleared += 1;
      }
      return cleared;
    },

    async isReady() {
      const probe = join(folder, UNFINISHED, PROBE);
      try {
        await makeFolder(dirname(probe));
        await writeFile(probe, "", { mode: 0o600, flush: true });
        await rm(probe, { force: true });
        return true;
      } catch {
        // Gone, read-only, full or not ours: all the same to whoever asks.
        return false;
      }
    },
  };
}

/** Erased between listing and looking: no longer there. */
async function describe(fileId: string, path: string): Promise<ListedMedia | null> {
  try {
    return { fileId, storedAtMs: (await stat(path)).mtimeMs };
  } catch (error) {
    if (codeOf(error) === "ENOENT") return null;
    throw error;
  }
}

function missing(error: unknown): never {
  throw codeOf(error) === "ENOENT" ? new MediaError("missing") : error;
}
