import "server-only";
import { createHash } from "node:crypto";

/** A UUID made of a SHA-256 (RFC 9562, version 8): the same words give the same one. */
export function uuidOf(words: string): string {
  const bytes = createHash("sha256").update(`trueside export\0${words}`).digest().subarray(0, 16);
  bytes.writeUInt8((bytes.readUInt8(6) & 0x0f) | 0x80, 6);
  bytes.writeUInt8((bytes.readUInt8(8) & 0x3f) | 0x80, 8);
  return bytes.toString("hex").replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}
