import "server-only";
import { createHash, randomBytes } from "node:crypto";
import type { Bucket } from "@/lib/media/bucket";
import { HEADER_LENGTH, keyIdOf, rewrap, seal, unseal, type MediaKeys } from "@/lib/media/frames";
import { assertFileId, MediaError, type MediaStore } from "@/lib/media/store";

const PLACE = "media/";

/**
 * Media in a bucket: `media/abcd…`, sealed here before anything leaves and opened here, so that whoever keeps the bucket
 * sees lengths, times and noise. One request puts a whole object or none: nothing is ever left half-written.
 */
export function openBucketStore(bucket: Bucket, keys: MediaKeys): MediaStore {
  const keyOf = (fileId: string): string => {
    assertFileId(fileId);
    return PLACE + fileId;
  };

  const readSealed = async (fileId: string): Promise<Buffer> => {
    const whole = await bucket.get(keyOf(fileId));
    if (!whole) throw new MediaError("missing");
    return whole.bytes;
  };

  return {
    async put(bytes) {
      const fileId = randomBytes(16).toString("hex");
      await bucket.put(keyOf(fileId), seal(bytes, fileId, keys.current));
      const sha256 = createHash("sha256").update(bytes).digest("hex");
      return { fileId, byteLength: bytes.length, sha256, keyId: keyIdOf(keys.current) };
    },

    /** A part takes two requests: its header says how long the whole is and opens it. */
    async read(fileId, range) {
      const key = keyOf(fileId);
      const first = await bucket.get(key, range && { start: 0, end: HEADER_LENGTH });
      if (!first) throw new MediaError("missing");
      const readBytes = async (start: number, end: number): Promise<Buffer> => {
        if (end <= first.bytes.length) return first.bytes.subarray(start, end);
        const part = await bucket.get(key, { start, end });
        if (!part) throw new MediaError("missing");
        return part.bytes;
      };
      return unseal({ length: first.length, readBytes }, fileId, keys, range);
    },

    readSealed,
    putSealed: async (fileId, sealed) => bucket.put(keyOf(fileId), sealed),

    async rewrap(fileId) {
      const sealed = await readSealed(fileId);
      if (sealed.length < HEADER_LENGTH) throw new MediaError("damaged");
      const header = rewrap(sealed.subarray(0, HEADER_LENGTH), fileId, keys);
      if (header) await bucket.put(keyOf(fileId), Buffer.concat([header, sealed.subarray(HEADER_LENGTH)]));
      return header !== null;
    },

    erase: async (fileId) => bucket.remove(keyOf(fileId)),

    async *list() {
      for await (const { key, storedAtMs } of bucket.list(PLACE)) yield { fileId: key.slice(PLACE.length), storedAtMs };
    },

    clearUnfinished: async () => 0,
    isReady: async () => bucket.isThere(),
  };
}
