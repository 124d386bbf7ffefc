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

/** A folder or a bucket stands behind the same words. Any of them may throw `MediaError` "unreachable" where it is a bucket. */
export type MediaStore = {
  /** Returns only after the bytes would survive a power cut. Throws `MediaError` "disk-full". */
  put(bytes: Uint8Array): Promise<StoredMedia>;
  /** Every byte returned has been authenticated. Throws `MediaError` "missing", "damaged" or "unknown-key". */
  read(fileId: string, range?: ByteRange): Promise<Buffer>;
  /** The file as it lies there, for a backup. Throws `MediaError` "missing". */
  readSealed(fileId: string): Promise<Buffer>;
  /** Puts a file of a backup back under its id. Throws `MediaError` "disk-full". */
  putSealed(fileId: string, sealed: Buffer): Promise<void>;
  /** Has the file's own key wrapped by the current practice key; false where it was. Throws `MediaError` as reading does. */
  rewrap(fileId: string): Promise<boolean>;
  /** Gone at once; erasing what is not there is no error. */
  erase(fileId: string): Promise<void>;
  list(): AsyncIterable<ListedMedia>;
  /** Removes what a crash left half-written longer ago than this. */
  clearUnfinished(olderThanMs: number): Promise<number>;
  /** Whether a file could be kept now, as far as that can be told without keeping one. */
  isReady(): Promise<boolean>;
};

/** `unreachable`: nothing is known of the file; the same later may do. */
export type MediaFault = "missing" | "damaged" | "unknown-key" | "disk-full" | "unreachable";

const BRAND = Symbol.for("trueside.media-error");

/** Known by its brand: the framework bundles this module several times, and a store shared by all of them throws the class of one. */
export class MediaError extends Error {
  readonly [BRAND] = true;

  static override [Symbol.hasInstance](error: unknown): boolean {
    return typeof error === "object" && error !== null && BRAND in error;
  }

  constructor(readonly fault: MediaFault) {
    super(`media ${fault}`);
    this.name = "MediaError";
  }
}

/** Only this may be waited out; everything else is the same tomorrow. */
export const isUnreachable = (error: unknown): boolean => error instanceof MediaError && error.fault === "unreachable";

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
