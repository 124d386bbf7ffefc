import "server-only";

export type BucketSettings = {
  readonly name: string;
  /** Where it is asked for, in full. */
  readonly endpoint: string;
  readonly region: string;
  readonly keyId: string;
  /** The file that holds the secret key, so that no list of processes or of settings shows it. */
  readonly secretFile: string;
};

/** Where media lie when they lie in a bucket, as `lib/cli/bucket-settings.mjs` has let it pass; null: in the data folder. */
export function bucketSettings(): BucketSettings | null {
  const env = process.env;
  if (!env["BUCKET"]) return null;
  return {
    name: env["BUCKET"], endpoint: env["BUCKET_ENDPOINT"] ?? "", region: env["BUCKET_REGION"] ?? "",
    keyId: env["BUCKET_KEY_ID"] ?? "", secretFile: env["BUCKET_SECRET_FILE"] ?? "",
  };
}
