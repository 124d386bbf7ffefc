import "server-only";
import { readFile } from "node:fs/promises";
import type { S3Client } from "@aws-sdk/client-s3";
import type { BucketSettings } from "@/lib/media/bucket-settings";
import { MediaError, type ByteRange } from "@/lib/media/store";

type Objects = typeof import("@aws-sdk/client-s3");
type Opened = { readonly s3: Objects; readonly client: S3Client };

/** `length` is that of the whole object, however little of it was asked for. */
export type Got = { readonly bytes: Buffer; readonly length: number };

/** What is wanted of a bucket: the least that every S3-compatible server does. All throw `MediaError` "unreachable", its cause in `why`. */
export type Bucket = {
  put(key: string, bytes: Buffer): Promise<void>;
  /** Null: no such object. A range past its end gives what there is. */
  get(key: string, range?: ByteRange): Promise<Got | null>;
  remove(key: string): Promise<void>;
  list(prefix: string): AsyncIterable<{ readonly key: string; readonly storedAtMs: number }>;
  isEmpty(): Promise<boolean>;
  /** Whether what is removed or overwritten may stay there as an older version. */
  keepsVersions(): Promise<boolean>;
  isThere(): Promise<boolean>;
};

/** Why a bucket did not do what it was asked. */
export type Away = "refused" | "no-bucket" | "keeps-versions" | "no-answer";

export class BucketAway extends MediaError {
  static override [Symbol.hasInstance](error: unknown): boolean {
    return error instanceof MediaError && "why" in error;
  }

  constructor(readonly why: Away, readonly said: string) {
    super("unreachable");
    this.name = "BucketAway";
  }
}

/** A server that does not answer is asked three times. Of an answer it is the silence that is timed: a clip on a slow line takes as long as it takes. */
const CONNECT_MS = 3_000;
const SILENT_MS = 8_000;
const TRIES = 3;
const READY_MS = 3_000;
const TOLD_EVERY_MS = 60_000;

export function openBucket(settings: BucketSettings): Bucket {
  const Bucket = settings.name;
  let opened: Promise<Opened> | null = null;
  let toldAt = 0;

  const ask = async <T>(work: (opened: Opened) => Promise<T>): Promise<T> => {
    try {
      return await work(await (opened ??= connect(settings).catch((error: unknown) => {
        opened = null;
        throw error;
      })));
    } catch (error) {
      const fault = faultOf(error);
      // Once a minute, whatever is asked for meanwhile; a word of the server's, never what was asked for.
      if (fault instanceof BucketAway && Date.now() - toldAt > TOLD_EVERY_MS) {
        toldAt = Date.now();
        process.stderr.write(`${JSON.stringify({ at: new Date(toldAt).toISOString(), event: "bucket-away", why: fault.why, said: fault.said })}\n`);
      }
      // The secret may have been put right meanwhile.
      if (fault instanceof BucketAway && fault.why === "refused") opened = null;
      throw fault;
    }
  };

  return {
    put: (key, bytes) => ask(async ({ s3, client }) => {
      await client.send(new s3.PutObjectCommand({ Bucket, Key: key, Body: bytes, ContentLength: bytes.length, ContentType: "application/octet-stream" }));
    }),

    get: (key, range) => ask(async ({ s3, client }) => {
      try {
        const got = await client.send(new s3.GetObjectCommand({ Bucket, Key: key, ...(range ? { Range: `bytes=${range.start}-${range.end - 1}` } : {}) }));
        const bytes = Buffer.from(await got.Body?.transformToByteArray() ?? []);
        return { bytes, length: range ? lengthIn(got.ContentRange) ?? bytes.length : bytes.length };
      } catch (error) {
        if (nameOf(error) === "NoSuchKey") return null;
        // An object that is empty or ends before the range begins.
        if (statusOf(error) === 416) return { bytes: Buffer.alloc(0), length: 0 };
        throw error;
      }
    }),

    remove: (key) => ask(async ({ s3, client }) => {
      const gone = await client.send(new s3.DeleteObjectCommand({ Bucket, Key: key }));
      if (gone.DeleteMarker) throw new BucketAway("keeps-versions", "DeleteMarker");
    }),

    async *list(prefix) {
      let from: string | undefined;
      do {
        const after = from;
        const page = await ask(({ s3, client }) => client.send(new s3.ListObjectsV2Command({ Bucket, Prefix: prefix, ...(after ? { ContinuationToken: after } : {}) })));
        for (const { Key, LastModified } of page.Contents ?? []) if (Key && LastModified) yield { key: Key, storedAtMs: LastModified.getTime() };
        from = page.IsTruncated ? page.NextContinuationToken : undefined;
      } while (from);
    },

    isEmpty: () => ask(async ({ s3, client }) => ((await client.send(new s3.ListObjectsV2Command({ Bucket, MaxKeys: 1 }))).Contents ?? []).length === 0),

    keepsVersions: () => ask(async ({ s3, client }) => {
      try {
        return (await client.send(new s3.GetBucketVersioningCommand({ Bucket }))).Status !== undefined;
      } catch (error) {
        // A server that knows of no versions keeps none.
        if (statusOf(error) === 501) return false;
        throw error;
      }
    }),

    isThere: () => ask(({ s3, client }) => client.send(new s3.ListObjectsV2Command({ Bucket, MaxKeys: 1 }), { abortSignal: AbortSignal.timeout(READY_MS) })).then(() => true, () => false),
  };
}

/** The client is loaded only where a bucket is set, and told everything, so that it looks for nothing on the machine. */
async function connect({ endpoint, region, keyId, secretFile }: BucketSettings): Promise<Opened> {
  const s3 = await import("@aws-sdk/client-s3");
  const secretAccessKey = (await readFile(secretFile, "utf8")).trim();
  const client = new s3.S3Client({
    endpoint, region, credentials: { accessKeyId: keyId, secretAccessKey },
    // The form that every server understands, on names without a certificate of their own too.
    forcePathStyle: true,
    // Frames are authenticated here; other servers refuse checksums they do not know.
    requestChecksumCalculation: "WHEN_REQUIRED", responseChecksumValidation: "WHEN_REQUIRED",
    followRegionRedirects: false, maxAttempts: TRIES,
    requestHandler: { connectionTimeout: CONNECT_MS, socketTimeout: SILENT_MS },
  });
  return { s3, client };
}

function faultOf(error: unknown): unknown {
  if (error instanceof MediaError) return error;
  const [status, name] = [statusOf(error), nameOf(error)];
  if (status === 507 || /quota|storagefull|insufficientstorage/i.test(name)) return new MediaError("disk-full");
  if (name === "NoSuchBucket") return new BucketAway("no-bucket", name);
  if (status === 400 || status === 401 || status === 403 || status === 404) return new BucketAway("refused", name);
  return new BucketAway("no-answer", name);
}

const statusOf = (error: unknown): number | null => (error as { readonly $metadata?: { readonly httpStatusCode?: number } }).$metadata?.httpStatusCode ?? null; // the client's own form of an error

/** The server's or the system's name of an error: letters alone, never a text. */
function nameOf(error: unknown): string {
  if (!(error instanceof Error)) return "unknown";
  const name = "code" in error && typeof error.code === "string" ? error.code : error.name;
  return /^[A-Za-z_]{1,60}$/.test(name) ? name : "unknown";
}

const lengthIn = (contentRange: string | undefined): number | null => {
  const length = /\/(\d+)$/.exec(contentRange ?? "")?.[1];
  return length === undefined ? null : Number(length);
};
