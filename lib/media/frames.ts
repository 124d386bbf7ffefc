import { createCipheriv, createDecipheriv, createHash, randomBytes } from "node:crypto";
import { MediaError, type ByteRange } from "@/lib/media/store";

/**
 * One stored file: a header, then frames of 64 KB each sealed by itself, so that a range can be read
 * without the rest. Offsets in bytes:
 *
 *   0 magic "TSMF" · 4 version · 5 key id (8) · 13 plain length (8, big endian) · 21 nonce prefix (7)
 *   · 28 wrap nonce (12) · 40 wrapped file key (32) · 72 wrap tag (16) · 88 frames
 *
 * AES-256-GCM throughout. The file's own random key is wrapped by a practice key; the wrap
 * authenticates everything before it and the file's id, so a file put in another's place is refused.
 * A frame's nonce is prefix + frame number (4) + 1 for the last frame, else 0: frames reordered,
 * dropped or cut at the end do not open (the STREAM construction, Hoang, Reyhanitabar, Rogaway and
 * Vizár, CRYPTO 2015).
 */
export const HEADER_LENGTH = 88;
const MAGIC = "TSMF";
const VERSION = 1;
export const FRAME_LENGTH = 64 * 1024;

const TAG = 16;
const CIPHER = "aes-256-gcm";

export type MediaKeys = {
  /** Seals what is stored from now on: 32 bytes. */
  readonly current: Uint8Array;
  /** Open what was stored before the key was changed. */
  readonly earlier?: readonly Uint8Array[];
};

/** What names a practice key in a header, 16 hexadecimal digits; tells nothing about the key. */
export function keyIdOf(key: Uint8Array): string {
  return createHash("sha256").update("trueside media key id\0").update(key).digest("hex").slice(0, 16);
}

export function seal(plain: Uint8Array, fileId: string, key: Uint8Array): Buffer {
  const fileKey = randomBytes(32);
  const open = Buffer.alloc(40);
  open.write(MAGIC, 0, "latin1");
  open.writeUInt8(VERSION, 4);
  open.writeBigUInt64BE(BigInt(plain.length), 13);
  randomBytes(7).copy(open, 21);
  const pieces = [wrapped(open, fileKey, fileId, key)];
  const count = frameCount(plain.length);
  for (let index = 0; index < count; index += 1) {
    const cipher = createCipheriv(CIPHER, fileKey, frameNonce(open, index, index === count - 1));
    pieces.push(cipher.update(plain.subarray(index * FRAME_LENGTH, (index + 1) * FRAME_LENGTH)), cipher.final(), cipher.getAuthTag());
  }
  return Buffer.concat(pieces);
}

/** The header of the same file under the current key; null where it is that already. Throws `MediaError` "damaged" or "unknown-key". */
export function rewrap(header: Buffer, fileId: string, keys: MediaKeys): Buffer | null {
  const { fileKey } = openHeader(header, fileId, keys);
  return header.toString("hex", 5, 13) === keyIdOf(keys.current) ? null : wrapped(Buffer.from(header.subarray(0, 40)), fileKey, fileId, keys.current);
}

/** A whole header out of its first 28 bytes: which key, under what nonce, and the wrapped file key. */
function wrapped(open: Buffer, fileKey: Buffer, fileId: string, key: Uint8Array): Buffer {
  open.write(keyIdOf(key), 5, "hex");
  randomBytes(12).copy(open, 28);
  const wrap = createCipheriv(CIPHER, key, open.subarray(28, 40)).setAAD(boundTo(open, fileId));
  return Buffer.concat([open, wrap.update(fileKey), wrap.final(), wrap.getAuthTag()]);
}

export type SealedFile = {
  /** Length of the sealed file. */
  readonly length: number;
  readBytes(start: number, end: number): Promise<Buffer>;
};

/** Opens only the frames the range needs. Throws `MediaError` "damaged" or "unknown-key". */
export async function unseal(file: SealedFile, fileId: string, keys: MediaKeys, range?: ByteRange): Promise<Buffer> {
  if (file.length < HEADER_LENGTH) throw new MediaError("damaged");
  const header = await file.readBytes(0, HEADER_LENGTH);
  const { fileKey, plainLength } = openHeader(header, fileId, keys);
  const count = frameCount(plainLength);
  if (file.length !== sealedLength(plainLength)) throw new MediaError("damaged");

  const start = Math.min(Math.max(range?.start ?? 0, 0), plainLength);
  const end = Math.min(Math.max(range?.end ?? plainLength, start), plainLength);
  const first = Math.min(Math.floor(start / FRAME_LENGTH), count - 1);
  const last = Math.max(first, Math.ceil(end / FRAME_LENGTH) - 1);
  const from = HEADER_LENGTH + first * (FRAME_LENGTH + TAG);
  const sealed = await file.readBytes(from, Math.min(from + (last - first + 1) * (FRAME_LENGTH + TAG), file.length));
  const opened: Buffer[] = [];
  for (let index = first; index <= last; index += 1) {
    const at = (index - first) * (FRAME_LENGTH + TAG);
    const nonce = frameNonce(header, index, index === count - 1);
    opened.push(openSealed(sealed.subarray(at, at + FRAME_LENGTH + TAG), fileKey, nonce));
  }
  return Buffer.concat(opened).subarray(start - first * FRAME_LENGTH, end - first * FRAME_LENGTH);
}

function openHeader(header: Buffer, fileId: string, keys: MediaKeys) {
  const isOurs = header.toString("latin1", 0, 4) === MAGIC && header.readUInt8(4) === VERSION;
  if (!isOurs) throw new MediaError("damaged");
  const keyId = header.toString("hex", 5, 13);
  const key = [keys.current, ...(keys.earlier ?? [])].find((candidate) => keyIdOf(candidate) === keyId);
  if (!key) throw new MediaError("unknown-key");
  const bound = boundTo(header.subarray(0, 40), fileId);
  const fileKey = openSealed(header.subarray(40, 88), key, header.subarray(28, 40), bound);
  return { fileKey, plainLength: Number(header.readBigUInt64BE(13)) };
}

function openSealed(sealed: Buffer, key: Uint8Array, nonce: Buffer, bound?: Buffer): Buffer {
  if (sealed.length < TAG) throw new MediaError("damaged");
  const decipher = createDecipheriv(CIPHER, key, nonce, { authTagLength: TAG });
  if (bound) decipher.setAAD(bound);
  decipher.setAuthTag(sealed.subarray(sealed.length - TAG));
  const plain = decipher.update(sealed.subarray(0, sealed.length - TAG));
  try {
    decipher.final();
  } catch {
    // The one thing `final` can say: these are not the bytes that were sealed.
    throw new MediaError("damaged");
  }
  return plain;
}

/** An empty file still has one frame, so that its emptiness is authenticated. */
const frameCount = (plainLength: number) => Math.max(1, Math.ceil(plainLength / FRAME_LENGTH));

/** How long a file of so many plain bytes is once it is sealed. */
export const sealedLength = (plainLength: number): number => HEADER_LENGTH + plainLength + frameCount(plainLength) * TAG;

const boundTo = (header: Buffer, fileId: string) => Buffer.concat([header.subarray(0, 40), Buffer.from(fileId, "latin1")]);

function frameNonce(header: Buffer, index: number, isLast: boolean): Buffer {
  const nonce = Buffer.alloc(12);
  header.copy(nonce, 0, 21, 28);
  nonce.writeUInt32BE(index, 7);
  nonce.writeUInt8(isLast ? 1 : 0, 11);
  return nonce;
}
