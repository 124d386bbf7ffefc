import "server-only";
import { createCipheriv, createDecipheriv, createHash, createHmac, hkdfSync, randomBytes, timingSafeEqual } from "node:crypto";
import { dataDir } from "@/db/client";
import { openSecrets, type Secrets } from "@/lib/media/secrets";

const IV_BYTES = 12;
const TAG_BYTES = 16;

let kept: { readonly dir: string; readonly secrets: Secrets } | null = null;

/** The practice's keys, read once a process. */
export function practiceSecrets(): Secrets {
  const dir = dataDir();
  if (kept?.dir !== dir) kept = { dir, secrets: openSecrets(dir) };
  return kept.secrets;
}

/** What a sealed or hashed value is for; a value made for one purpose is worthless for another. */
export type Purpose = "address" | "network" | "code" | "proof" | "invitation" | "session-invitation" | "challenge" | "totp" | "second-step" | "asked" | "notice" | "notice-off" | "push" | "recovery-code" | "recovery-codes" | "new-address" | "new-app";

/** 256 random bits as text, for a link or a cookie. */
export const randomToken = (): string => randomBytes(32).toString("base64url");

/** SHA-256 of a random token: enough at rest, since nobody can guess what was hashed. */
export const tokenHash = (token: string): string => createHash("sha256").update(token).digest("base64url");

/** A keyed hash, for what could be guessed without the key, such as an address or eight digits. */
export function keyedHash(purpose: Purpose, value: string): string {
  return createHmac("sha256", keyFor("hash", purpose)).update(value).digest("base64url");
}

export function isSame(one: string, other: string): boolean {
  const [a, b] = [Buffer.from(one), Buffer.from(other)];
  return a.length === b.length && timingSafeEqual(a, b);
}

/** AES-256-GCM under a key of its own for each purpose. */
export function seal(purpose: Purpose, text: string): string {
  const iv = randomBytes(IV_BYTES);
  const cipher = createCipheriv("aes-256-gcm", keyFor("seal", purpose), iv);
  const body = Buffer.concat([cipher.update(text, "utf8"), cipher.final()]);
  return Buffer.concat([iv, cipher.getAuthTag(), body]).toString("base64url");
}

/** What was sealed for this purpose, or null when it was not, or was changed. */
export function unseal(purpose: Purpose, sealed: string): string | null {
  const bytes = Buffer.from(sealed, "base64url");
  if (bytes.length < IV_BYTES + TAG_BYTES) return null;
  const decipher = createDecipheriv("aes-256-gcm", keyFor("seal", purpose), bytes.subarray(0, IV_BYTES));
  decipher.setAuthTag(bytes.subarray(IV_BYTES, IV_BYTES + TAG_BYTES));
  try {
    return Buffer.concat([decipher.update(bytes.subarray(IV_BYTES + TAG_BYTES)), decipher.final()]).toString("utf8");
  } catch {
    return null;
  }
}

/** Deriving one is a good part of what the sign-in page costs. */
const keys = new WeakMap<Secrets, Map<string, Buffer>>();

function keyFor(use: "hash" | "seal", purpose: Purpose): Buffer {
  const secrets = practiceSecrets();
  const [of, info] = [keys.get(secrets) ?? new Map<string, Buffer>(), `trueside ${use} ${purpose}`];
  const key = of.get(info) ?? Buffer.from(hkdfSync("sha256", secrets.signInKey, "", info, 32));
  keys.set(secrets, of.set(info, key));
  return key;
}
