import type { MarkFault } from "@/lib/audit/mark";
import type { Checked, Found } from "@/lib/backup/check-folder";
import type { Fault } from "@/lib/backup/fault";
import type { Restored } from "@/lib/backup/restore";
import type { Taken } from "@/lib/backup/take";
import { Refusal } from "@/lib/cli/refusal.mjs";
import { BucketAway, type Away } from "@/lib/media/bucket";
import { PlaceFault, type PlaceTrouble } from "@/lib/media/place";

const WAY_ON = "Put the database and its -wal file back as they were together, or restore a backup into a new folder. To go on with what is left, knowing what is lost, delete audit-mark in the data folder and start again.";

/** Why a database is not served, and the way on. */
export const HISTORY_LOST: Readonly<Record<MarkFault | "damaged", string>> = {
  damaged: "The database is damaged, as when its -wal file belongs to another copy of it. Put the database and its -wal file back as they were together, or restore a backup into a new folder.",
  shorter: `The database holds less than was recorded in it: its newest part is missing, as when its -wal file was deleted or an older copy was put back. ${WAY_ON}`,
  other: `The database holds another history than was recorded in it, as when another copy was put back and used. ${WAY_ON}`,
  unreadable: `The file audit-mark in the data folder cannot be read, so nobody can say whether the database is complete. ${WAY_ON}`,
};

const FOUND: Readonly<Record<Found, string>> = {
  "database-missing": "There is no database in the data folder.",
  "database-damaged": "The database is damaged: SQLite's own check fails.",
  "reference-broken": "Rows refer to what is not there, in the table",
  "audit-broken": "The audit chain is broken: an entry was changed, taken out or cut off, from number",
  "history-shorter": "The database holds less than was recorded in it: its newest part is missing.",
  "history-other": "The database holds another history than was recorded in it.",
  "mark-unreadable": "The file audit-mark cannot be read.",
  "keys-missing": "The media key is missing or damaged, or MEDIA_KEY_FILE does not name it, so no file was opened.",
  "file-missing": "A file is missing, the one with the id",
  "file-damaged": "A file is not what was stored, the one with the id",
  "file-of-another-key": "A file was sealed with another key, the one with the id",
  "file-without-row": "A file belongs to no row, the one with the id",
};

/** What a check found, a line each, with how much was looked at as the last one. */
export function inWords({ findings, auditEntries, files, bytes }: Checked): readonly string[] {
  const looked = `${auditEntries} audit entries and ${files} files (${(bytes / 1e6).toFixed(1)} MB) were looked at.`;
  return [
    ...findings.map(({ found, at }) => (at === null ? FOUND[found] : `${FOUND[found]} ${at}.`)),
    findings.length === 0 ? `Nothing is wrong. ${looked}` : `Found: ${findings.length}. ${looked}`,
  ];
}

/** Why no backup was made, or nothing restored. */
export const FAULTS: Readonly<Record<Fault, string>> = {
  "key-unreadable": "This is not a backups' key: a character is missing or another one. Nothing was done.",
  "key-wrong": "These backups were sealed with another key. Nothing was done.",
  "key-missing": "There is no key for backups yet: run npm run backup once by hand and write down the key it says.",
  "practice-key": "The practice key is kept outside the data folder and is in no backup: set MEDIA_KEY_FILE to the file of the key that was in use when this backup was made. Nothing was done.",
  "practice-key-inside": "This backup holds the practice key of its time: unset MEDIA_KEY_FILE for the restore. To keep the key outside again, run npm run rotate-key -- NEW_KEY_FILE afterwards.",
  "folder-inside": "Backups and the data folder must not lie in one another: what takes one would take both. No backup was made.",
  "folder-foreign": "This folder holds no backups of this program, or cannot be read as such: name another. Nothing was done.",
  "folder-other-practice": "This folder holds the backups of another practice: name another folder. No backup was made.",
  "disk-full": "The disk is full. No backup was made.",
  "media-unreachable": "The bucket that holds the photos cannot be reached, so no backup was made.",
  "database-damaged": "The database is damaged, so no backup was made and none was taken away: run npm run verify.",
  "no-backup": "There is no backup in this folder. Nothing was restored.",
  "file-missing": "A file of this backup is missing. Nothing was restored: try an older backup in the same folder.",
  "file-damaged": "A file of this backup is damaged: it is not what was backed up. Nothing was restored: try an older backup in the same folder.",
  "erased-damaged": "The list of what was erased is damaged or too short, so erased children could come back. Nothing was restored: put the file named erased back from a copy of the backups.",
  "version-unknown": "This backup was made by a later version of this program: restore it with that one.",
  "target-not-empty": "The folder to restore into is not empty: name an empty one, or one that is not there yet. Nothing was touched.",
};

const PLACES: Readonly<Record<PlaceTrouble, string>> = {
  "settings-missing": "The photos of this practice lie in a bucket: set BUCKET, BUCKET_ENDPOINT, BUCKET_REGION, BUCKET_KEY_ID and BUCKET_SECRET_FILE as they were.",
  "bucket-not-ours-yet": "This data folder has no bucket yet: start it once with BUCKET set, or unset BUCKET.",
  "folder-in-use": "The photos of this practice lie in its data folder: unset BUCKET. To move them, make a backup, and restore it into a new folder with BUCKET set.",
  "bucket-other": "The bucket is not the one that this data folder's photos lie in, or it belongs to another practice or copy: name the right one, or for a new folder an empty one or none.",
  "bucket-not-empty": "The bucket holds what is not ours: name an empty one.",
  "bucket-keeps-versions": "The bucket keeps older versions of what is erased in it: switch versioning off. Where that cannot be done, make a new bucket and restore a backup into it.",
};

const AWAY: Readonly<Record<Away, string>> = {
  "no-bucket": "There is no bucket of this name: make it first, empty and without versioning.",
  refused: "The bucket's server refuses the key or its secret, or does not let it read, write, list and delete objects and read the bucket's versioning.",
  "keeps-versions": PLACES["bucket-keeps-versions"],
  "no-answer": "The bucket cannot be reached: see to BUCKET_ENDPOINT, BUCKET_SECRET_FILE and the line to it.",
};

/** What is wrong with where media lie; null when it is something else. */
export function placeSaid(error: unknown): string | null {
  if (error instanceof PlaceFault) return PLACES[error.trouble];
  return error instanceof BucketAway ? `${AWAY[error.why]} (${error.said})` : null;
}

/** Does what a command does, and says in one sentence when it is the place of the media that is wrong. */
export async function orPlaceSaid<T>(work: () => Promise<T>): Promise<T> {
  try {
    return await work();
  } catch (error) {
    const said = placeSaid(error);
    throw said === null ? error : new Refusal(said);
  }
}

export function backedUpInWords({ name, files, added, lost, dropped, isPruneHeld }: Taken, folder: string): readonly string[] {
  return [
    `Backed up to ${folder}/${name}: the database and ${files} files, ${added} of them new there. Older backups taken away: ${dropped}.`,
    ...(isPruneHeld ? ["Older backups were kept for now: the clock may have jumped, or one of them cannot be read."] : []),
    ...(lost > 0 ? [`${lost} files are missing or damaged in the data folder and not in this backup: run npm run verify.`] : []),
  ];
}

export function restoredInWords({ takenAt, isDemo, files, bytes, lost, erasedAgain, sessionsEnded }: Restored, dataDir: string, seconds: number): readonly string[] {
  return [
    `Restored into ${dataDir} in ${seconds.toFixed(1)} seconds: ${isDemo ? "the demo" : "the practice"} as of ${new Date(takenAt).toISOString()}, with ${files} files (${(bytes / 1e6).toFixed(1)} MB).`,
    ...(lost > 0 ? [`${lost} files were lost before that backup was made and are not in it.`] : []),
    `Erased again, because it was erased after that moment: ${erasedAgain}. Sign-ins ended: ${sessionsEnded}; everybody signs in anew, and open invitations must be sent again.`,
    "What was recorded after that moment is not here: photos, answers, symptoms and stops. Access that was ended since is open again. Before anybody is let in, go through both with everybody who worked that day.",
  ];
}
