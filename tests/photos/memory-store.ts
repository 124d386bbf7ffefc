import { createHash, randomBytes } from "node:crypto";
import { assertFileId, MediaError, type MediaStore } from "@/lib/media/store";

/** The plainest thing that keeps the media store's promises; what the contract is also held against. */
export function openMemoryStore(): MediaStore {
  const kept = new Map<string, { readonly bytes: Buffer; readonly storedAtMs: number }>();
  return {
    async put(bytes) {
      const fileId = randomBytes(16).toString("hex");
      kept.set(fileId, { bytes: Buffer.from(bytes), storedAtMs: Date.now() });
      const sha256 = createHash("sha256").update(bytes).digest("hex");
      return { fileId, byteLength: bytes.length, sha256, keyId: "0".repeat(16) };
    },
    async read(fileId, range) {
      assertFileId(fileId);
      const found = kept.get(fileId);
      if (!found) throw new MediaError("missing");
      const start = Math.min(range?.start ?? 0, found.bytes.length);
      return found.bytes.subarray(start, Math.max(start, range?.end ?? found.bytes.length));
    },
    async readSealed(fileId) {
      return this.read(fileId);
    },
    async putSealed(fileId, bytes) {
      assertFileId(fileId);
      kept.set(fileId, { bytes: Buffer.from(bytes), storedAtMs: Date.now() });
    },
    async rewrap() {
      return false;
    },
    async erase(fileId) {
      assertFileId(fileId);
      kept.delete(fileId);
    },
    async *list() {
      for (const [fileId, { storedAtMs }] of kept) yield { fileId, storedAtMs };
    },
    async clearUnfinished() {
      return 0;
    },
    async isReady() {
      return true;
    },
  };
}
