import { z } from "zod";
import { ERASED_KINDS } from "@/db/schema/erasure";

const HASH = z.string().regex(/^[0-9a-f]{64}$/);

/** A file of the practice's keys: one, or one before it whose files are just being wrapped anew. */
export const KEY_NAME = /^[A-Za-z]+(?:-before-[0-9a-f]{16})?$/;

/** What one backup holds; sealed, since it carries the practice's keys. */
export const ManifestSchema = z.object({
  version: z.literal(1),
  takenAt: z.number(),
  /** What the data folder says it is. */
  kind: z.enum(["demo", "real"]),
  /** The practice's keys by file name, base64. The backup's own is never among them. */
  keys: z.record(z.string().regex(KEY_NAME), z.base64()),
  /** Whether the practice keeps the backup's key in its data folder. */
  keepsKey: z.boolean(),
  database: z.object({ byteLength: z.number(), sha256: HASH }),
  audit: z.object({ sequence: z.number(), hash: HASH }).nullable(),
  /** Rows by table. */
  counts: z.record(z.string(), z.number()),
  /** How many lines the list of what was erased had. */
  erased: z.number(),
  /** Every file with a row: its id, the hash of the file as it lies in the media folder, and the key it is said to be wrapped by. */
  media: z.array(z.object({ fileId: z.string().regex(/^[0-9a-f]{32}$/), sha256: HASH, byteLength: z.number(), keyId: z.string() })),
  /** Files that had a row and were gone or damaged already. */
  lost: z.array(z.string()),
});
export type Manifest = z.infer<typeof ManifestSchema>;

/** Stands open in the folder, so that a wrong key is told from a damaged backup. */
export const AboutSchema = z.object({
  version: z.literal(1),
  /** Names the backup's key, and tells nothing about it. */
  keyId: z.string(),
  /** Names the practice, and tells nothing about it. */
  practice: z.string(),
});

export const ErasedSchema = z.object({ id: z.string(), kind: z.enum(ERASED_KINDS), erasedAt: z.number(), mac: HASH });
export type Erased = Omit<z.infer<typeof ErasedSchema>, "mac">;
