import "server-only";
import { join } from "node:path";

export type StoredMedia = {
  /** 32 hexadecimal digits, 128 random bits; nothing about the child can be read from it. */
  readonly fileId: string;
  /** Length of the plain bytes. */
  readonly byteLength: number;
  /** SHA-256 of the plain bytes, 64 hexadecimal digits. */
  readonly sha256: string;
  /** Which practice key wraps the file's own key, 16 hexadecimal digits. */
  readonly keyId: string;
};

/** First byte and the byte after the last, as in `Buffer.subarray`. */
export type ByteRange = { readonly start: number; readonly end: number };

export type ListedMedia = { readonly fileId: string; readonly storedAtMs: number };

/** A folder now; object storage could stand behind the same words. */
export type MediaStore = {
  /** Returns only after the bytes would survive a power cut. Throws `MediaError` "disk-full". */
  put(bytes: Uint8Array): Promise<StoredMedia>;
  /** Every byte returned has been authenticated. Throws `MediaError` "missing", "damaged" or "unknown-key". */
  read(fileId: string, range?: ByteRange): Promise<Buffer>;
  /** Has the file's own key wrapped by the current practice key; false where it was. Throws `MediaError` as reading does. */
  rewrap(fileId: string): Promise<boolean>;
  /** Gone at once; erasing what is not there is no error. */
  erase(fileId: string): Promise<void>;
  list(): AsyncIterable<ListedMedia>;
  /** Removes what a crash left half-written longer ago than this. */
  clearUnfinished(olderThanMs: number): Promise<number>;
};

export type MediaFault = "missing" | "damaged" | "unknown-key" | "disk-full";

export class MediaError extends Error {
  constructor(readonly fault: MediaFault) {
    super(`media ${fault}`);
    this.name = "MediaError";
  }
}

const FILE_ID = /^[0-9a-f]{32}$/;

/** An id of any other shape never reaches the disk. */
export function assertFileId(fileId: string): void {
  if (!FILE_ID.test(fileId)) throw new MediaError("missing");
}

/** Where a media folder keeps a file. */
export function fileIn(folder: string, fileId: string): string {
  assertFileId(fileId);
  return join(folder, fileId.slice(0, 2), fileId.slice(2, 4), fileId);
}
