import { createHash } from "node:crypto";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { PHOTO_LIMITS } from "@/lib/photos/limits";

/** What the phone said it would send; a difference means that something was lost on the way. */
export type Declared = { readonly length?: number; readonly sha256?: string };

export type Received = { readonly bytes: Buffer; readonly sha256: string };

/** Room for a body whose length nobody said. */
const FIRST_BYTES = 1_000_000;

export type Body = AsyncIterable<Uint8Array> | Uint8Array;

/** Bytes that are taken, and where a longer body is no longer read. */
export type ByteLimits = { readonly maxBytes: number; readonly cutBytes: number };

/**
 * Counts while reading and keeps every byte or none. A body a little over the limit is read to its
 * end, so that the sender hears the reason instead of a broken connection; past `cutBytes` it is cut.
 * Throws what the stream throws when the connection is lost.
 */
export async function receive(body: Body, declared: Declared = {}, limits: ByteLimits = PHOTO_LIMITS): Promise<Result<Received>> {
  const { maxBytes, cutBytes } = limits;
  const tooLarge = () => refuse("photo-too-large", { values: { max: maxBytes / 1e6 } });
  if ((declared.length ?? 0) > cutBytes) return tooLarge();

  const hash = createHash("sha256");
  // Copied as they come: chunks kept to the end would be held twice while they are joined. Memory that nobody writes to is not taken.
  let held = Buffer.allocUnsafeSlow(Math.min(declared.length ?? FIRST_BYTES, maxBytes));
  let length = 0;
  for await (const chunk of body instanceof Uint8Array ? [body] : body) {
    length += chunk.length;
    if (length > cutBytes) return tooLarge();
    if (length > maxBytes) continue;
    hash.update(chunk);
    if (length > held.length) held = larger(held, Math.min(maxBytes, Math.max(length, held.length * 2)));
    held.set(chunk, length - chunk.length);
  }
  if (length > maxBytes) return tooLarge();
  if (length === 0) return refuse("photo-empty");
  if (declared.length !== undefined && declared.length !== length) return refuse("photo-length-mismatch");
  const sha256 = hash.digest("hex");
  if (declared.sha256 !== undefined && declared.sha256.toLowerCase() !== sha256) return refuse("photo-hash-mismatch");
  return ok({ bytes: held.subarray(0, length), sha256 });
}

function larger(held: Buffer<ArrayBuffer>, length: number): Buffer<ArrayBuffer> {
  const grown = Buffer.allocUnsafeSlow(length);
  grown.set(held);
  return grown;
}

/** What a request for a photo says of it in its headers. */
export function declaredIn(headers: Headers): Declared {
  const length = Number(headers.get("x-photo-length") ?? headers.get("content-length"));
  const sha256 = headers.get("x-photo-sha256");
  return { ...(Number.isSafeInteger(length) && length > 0 ? { length } : {}), ...(sha256 ? { sha256 } : {}) };
}

/** The body of a request, piece by piece. */
export async function* chunksOf(body: ReadableStream<Uint8Array>): AsyncGenerator<Uint8Array> {
  const reader = body.getReader();
  try {
    for (let next = await reader.read(); !next.done; next = await reader.read()) yield next.value;
  } finally {
    // Left early: tell the sender that nobody reads on.
    await reader.cancel().catch(() => undefined);
  }
}
