/**
 * Makes the data folder fit to serve, under the lock its starter holds: keys, schema, a new demo's
 * people, erasures finished, stray files swept. Writes the practice lead's single-use set-up address, if one is due, to
 * standard output and nothing else there.
 */
import { existsSync, statSync } from "node:fs";
import { join } from "node:path";
import { database, dataDir, type Database } from "@/db/client";
import { migrateDatabase } from "@/db/migrate";
import { mediaFiles } from "@/db/schema/photos";
import { chainEnd, checkChain } from "@/lib/audit/chain";
import { MARK_FILE, markFault, markNow } from "@/lib/audit/mark";
import { checkDatabase } from "@/lib/backup/check-folder";
import { emptyDemoFolder, isDemoSeeded, markDemoSeeded } from "@/lib/cli/data-folder.mjs";
import { createLeadInvitation } from "@/lib/cli/first-lead";
import { HISTORY_LOST, placeSaid } from "@/lib/cli/said";
import { BucketAway } from "@/lib/media/bucket";
import { isSettled, PLACE_MARKS, settlePlace } from "@/lib/media/place";
import { openPracticeStore } from "@/lib/media/practice-store";
import { openSecrets, OutsideKeyRefused, SecretsDamaged } from "@/lib/media/secrets";
import type { MediaStore } from "@/lib/media/store";
import { sweep } from "@/lib/media/sweep";
import { keyRefused } from "@/lib/records/rotate-key";
import { finishErasing } from "@/lib/records/tombstones";

/** What was stored a moment before a crash may be younger than its row; an hour is long past that. */
const SETTLED_MS = 3_600_000;
/** Held or written by the starter, so they stay when an interrupted demo is begun again. */
const STARTERS = ["lock", "lock-journal", "lock.pid", "logs"];

const isDemo = process.env["DEMO"] === "1";
const isNewDemo = isDemo && !isDemoSeeded(dataDir());
if (isNewDemo) emptyDemoFolder(dataDir(), [...STARTERS, ...PLACE_MARKS]);

refuseLostHistory();

const now = new Date();
openKeys();
const isReached = await reachMedia();
const store = openPracticeStore(dataDir());
const db = database();
migrateDatabase(db);
refuseOtherKey();
if (isNewDemo) await fillDemo(db, store);
// What a crash left of an erasure comes first: its files have no rows and would look like strays.
await finishErasing(db, store);
if (isReached) await sweepMedia();
if (!isDemo) await inviteLead();
markNow();
db.$client.close();

/** Before anything is opened for good or made: a new database in place of a lost one would look like a practice's first day. */
function refuseLostHistory(): void {
  const path = join(dataDir(), "trueside.db");
  // A log of writes is left by a crash alone, and may be another database's: then the two together are no database.
  const hasLog = (statSync(`${path}-wal`, { throwIfNoEntry: false })?.size ?? 0) > 0;
  const client = existsSync(path) ? database().$client : null;
  const isMixed = client !== null && hasLog && isDamaged(client);
  const fault = isMixed ? "damaged" : markFault(client, dataDir()) ?? (hasLog ? gapFault(client) : null);
  if (fault !== null) refuse(HISTORY_LOST[fault]);
}

function isDamaged(client: Database["$client"]): boolean {
  let isFound = false;
  checkDatabase(client, () => {
    isFound = true;
  });
  return isFound;
}

/** A mixture that SQLite finds nothing wrong with can lack entries in the middle. Without a mark nobody asks. */
function gapFault(client: Database["$client"] | null): "other" | null {
  const isAsked = client !== null && existsSync(join(dataDir(), MARK_FILE)) && chainEnd(client) !== null;
  return isAsked && checkChain(client).brokenAt !== null ? "other" : null;
}

/**
 * A bucket that is not this practice's, or keeps what is erased, is refused. One that only does not answer keeps nobody
 * from a stop: words and answers are in the database, and what is erased waits.
 */
async function reachMedia(): Promise<boolean> {
  try {
    await settlePlace(dataDir());
    return true;
  } catch (error) {
    const said = placeSaid(error);
    if (said === null) throw error;
    const isOnlyAway = error instanceof BucketAway && error.why === "no-answer" && isSettled(dataDir());
    process.stderr.write(isOnlyAway ? `${JSON.stringify({ event: "bucket-away", why: error.why, said: error.said })}\n` : `${said}\n`);
    if (!isOnlyAway) process.exit(1);
    return false;
  }
}

/** Before a bucket is claimed; a key that cannot be read is said in a sentence, not as a fault of ours. */
function openKeys(): void {
  try {
    openSecrets(dataDir());
  } catch (error) {
    if (!(error instanceof SecretsDamaged) && !(error instanceof OutsideKeyRefused)) throw error;
    refuse(error.message);
  }
}

function refuseOtherKey(): void {
  const why = keyRefused(db, dataDir());
  if (why) refuse(why);
}

function refuse(sentence: string): never {
  process.stderr.write(`${sentence}\n`);
  process.exit(1);
}

async function fillDemo(into: Database, media: MediaStore): Promise<void> {
  // A demo that is begun again left its pictures in the bucket.
  for await (const { fileId } of media.list()) await media.erase(fileId);
  // Loaded only when asked for: it brings the renderer of the demo's pictures.
  const { seedDemo } = await import("@/demo-data/seed");
  await seedDemo(into, media, now);
  markDemoSeeded(dataDir());
}

async function inviteLead(): Promise<void> {
  const address = await createLeadInvitation(db, now);
  if (address) process.stdout.write(`${address}\n`);
}

async function sweepMedia(): Promise<void> {
  const known = db.select({ fileId: mediaFiles.fileId }).from(mediaFiles).all();
  const swept = await sweep(store, known.map(({ fileId }) => fileId), now.getTime() - SETTLED_MS);
  const counts = { removed: swept.removed.length, missing: swept.missing.length, held: swept.held.length };
  process.stderr.write(`${JSON.stringify({ event: "media-swept", ...counts })}\n`);
}
