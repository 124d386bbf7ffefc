import "server-only";
import { randomBytes } from "node:crypto";
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { rename, rm } from "node:fs/promises";
import { basename, join } from "node:path";
import { openBucket, type Bucket } from "@/lib/media/bucket";
import { bucketSettings } from "@/lib/media/bucket-settings";
import { syncFolder, writeSynced } from "@/lib/media/durable";
import { openSecrets } from "@/lib/media/secrets";

/** A random id, here and in the bucket: with another practice's bucket, or none, a sweep would take what is not ours for left-overs. */
const MARK = "bucket";
/** Until the bucket has it too. */
const NEW_MARK = "bucket.new";
export const PLACE_MARKS: readonly string[] = [MARK, NEW_MARK];
const IN_BUCKET = "practice";

export type PlaceTrouble = "settings-missing" | "bucket-not-ours-yet" | "folder-in-use" | "bucket-other" | "bucket-not-empty" | "bucket-keeps-versions";

/** The media of this data folder lie elsewhere than the settings say, or may not lie there. */
export class PlaceFault extends Error {
  constructor(readonly trouble: PlaceTrouble) {
    super(`media place ${trouble}`);
    this.name = "PlaceFault";
  }
}

export const isSettled = (dataDir: string): boolean => existsSync(join(dataDir, MARK));

/** The bucket of a data folder, or null where its media lie in it. Throws `PlaceFault` where the settings say otherwise. */
export function settledPlace(dataDir: string): Bucket | null {
  const settings = bucketSettings();
  const isInBucket = isSettled(dataDir);
  if (!settings && isInBucket) throw new PlaceFault("settings-missing");
  if (settings && !isInBucket) throw new PlaceFault(hasMediaFiles(dataDir) ? "folder-in-use" : "bucket-not-ours-yet");
  return settings && openBucket(settings);
}

/**
 * Before a data folder is served or filled: makes an empty bucket that of a folder without media, and sees that it is
 * still that one and forgets what is erased. Throws `PlaceFault`, `SecretsDamaged`, and `BucketAway` where the bucket refuses or does not answer.
 */
export async function settlePlace(dataDir: string): Promise<void> {
  const settings = bucketSettings();
  if (!settings || isSettled(dataDir)) {
    const bucket = settledPlace(dataDir);
    if (bucket) await refuseOther(bucket, readMark(dataDir, MARK));
    return;
  }
  if (hasMediaFiles(dataDir)) throw new PlaceFault("folder-in-use");
  await claim(dataDir, openBucket(settings));
}

/** Cut off at any moment, the next start goes on with the same id. */
async function claim(dataDir: string, bucket: Bucket): Promise<void> {
  // Made before there is a bucket: without them beside one, no start makes new ones.
  openSecrets(dataDir);
  const [mark, aside] = [join(dataDir, MARK), join(dataDir, NEW_MARK)];
  const began = existsSync(aside) ? readMark(dataDir, NEW_MARK) : null;
  const there = await bucket.get(IN_BUCKET);
  if (there === null || there.bytes.toString("latin1") !== began) {
    if (there !== null) throw new PlaceFault("bucket-other");
    if (!await bucket.isEmpty()) throw new PlaceFault("bucket-not-empty");
    if (await bucket.keepsVersions()) throw new PlaceFault("bucket-keeps-versions");
    await rm(aside, { force: true });
    const id = randomBytes(16).toString("hex");
    await writeSynced(aside, Buffer.from(id));
    await bucket.put(IN_BUCKET, Buffer.from(id));
  }
  await rename(aside, mark);
  await syncFolder(dataDir);
}

/** Takes a bucket back that was claimed and then not filled; whoever calls has emptied it of media. */
export async function leavePlace(dataDir: string): Promise<void> {
  const bucket = isSettled(dataDir) ? settledPlace(dataDir) : null;
  if (bucket) await bucket.remove(IN_BUCKET);
}

async function refuseOther(bucket: Bucket, id: string): Promise<void> {
  const there = await bucket.get(IN_BUCKET);
  if (there?.bytes.toString("latin1") !== id) throw new PlaceFault("bucket-other");
  if (await bucket.keepsVersions()) throw new PlaceFault("bucket-keeps-versions");
}

const readMark = (dataDir: string, name: string): string => readFileSync(join(dataDir, name), "latin1");

function hasMediaFiles(dataDir: string): boolean {
  const folder = join(dataDir, "media");
  return existsSync(folder) && readdirSync(folder, { recursive: true, encoding: "utf8" }).some((path) => /^[0-9a-f]{32}$/.test(basename(path)));
}
