import { readFileSync } from "node:fs";
import { resolve } from "node:path";
import { Refusal } from "./refusal.mjs";

const NAMES = ["BUCKET", "BUCKET_ENDPOINT", "BUCKET_REGION", "BUCKET_KEY_ID", "BUCKET_SECRET_FILE"];
/** What every S3-compatible server takes as a bucket's name. */
const BUCKET_NAME = /^[a-z0-9][a-z0-9.-]{1,61}[a-z0-9]$/;

/**
 * Where media lie when not in the data folder: all of the settings or none. Gives them as the app reads them.
 * @param {Record<string, string | undefined>} env
 * @param {(host: string) => boolean} isLoopback
 * @returns {Record<string, string>}
 */
export function readBucket(env, isLoopback) {
  const given = NAMES.filter((name) => env[name]);
  if (given.length === 0) return {};
  const missing = NAMES.filter((name) => !env[name]);
  if (missing.length > 0) throw new Refusal(`Set ${missing.join(", ")} too, or unset ${given.join(", ")}: photos lie in a bucket only when all of it is said.`);
  if (!BUCKET_NAME.test(env.BUCKET ?? "")) throw new Refusal("BUCKET must be a bucket's name: 3 to 63 small letters, digits, hyphens and points.");
  const url = URL.canParse(env.BUCKET_ENDPOINT ?? "") ? new URL(env.BUCKET_ENDPOINT ?? "") : null;
  if (!url || url.href !== `${url.origin}/` || !["http:", "https:"].includes(url.protocol)) {
    throw new Refusal("BUCKET_ENDPOINT must be a full address without a path, such as https://s3.example.");
  }
  if (url.protocol === "http:" && !isLoopback(url.hostname)) throw new Refusal("BUCKET_ENDPOINT must begin with https://, except on this machine.");
  const secretFile = resolve(env.BUCKET_SECRET_FILE ?? "");
  if (!/^\S+\s*$/.test(contentOf(secretFile))) throw new Refusal("BUCKET_SECRET_FILE must name a file that this account may read and that holds the secret key alone.");
  return { BUCKET: env.BUCKET ?? "", BUCKET_ENDPOINT: url.origin, BUCKET_REGION: env.BUCKET_REGION ?? "", BUCKET_KEY_ID: env.BUCKET_KEY_ID ?? "", BUCKET_SECRET_FILE: secretFile };
}

/** @param {string} path */
function contentOf(path) {
  try {
    return readFileSync(path, "utf8");
  } catch {
    // Not there, a folder, not ours to read: all the same to whoever set it.
    return "";
  }
}
