import { createHash } from "node:crypto";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { PHOTO_LIMITS } from "@/lib/photos/limits";

/** What the phone said it would send; a difference means that something was lost on the way. */
export type Declared = { readonly length?: number; readonly sha256?: string };

export type Received = { readonly bytes: Buffer; readonly sha256: string };

export type Body = AsyncIterable<Uint8Array> | Uint8Array;

/**
 * Counts while reading and keeps every byte or none. A body a little over the limit is read to its
 * end, so that the phone hears the reason instead of a broken connection; past 26 MB it is cut.
 * Throws what the stream throws when the connection is lost.
 */
export async function receive(body: Body, declared: Declared = {}): Promise<Result<Received>> {
  const { maxBytes, cutBytes } = PHOTO_LIMITS;
  const tooLarge = () => refuse("photo-too-large", { values: { max: maxBytes / 1e6 } });
  if ((declared.length ?? 0) > cutBytes) return tooLarge();

  const hash = createHash("sha256");
  const chunks: Uint8Array[] = [];
  let length = 0;
  for await (const chunk of body instanceof Uint8Array ? [body] : body) {
    length += chunk.length;
    if (length > cutBytes) return tooLarge();
    if (length > maxBytes) continue;
    hash.update(chunk);
    chunks.push(chunk);
  }
  if (length > maxBytes) return tooLarge();
  if (length === 0) return refuse("photo-empty");
  if (declared.length !== undefined && declared.length !== length) return refuse("photo-length-mismatch");
  const sha256 = hash.digest("hex");
  if (declared.sha256 !== undefined && declared.sha256.toLowerCase() !== sha256) return refuse("photo-hash-mismatch");
  return ok({ bytes: Buffer.concat(chunks, length), sha256 });
}
