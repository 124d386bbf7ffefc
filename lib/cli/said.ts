import type { MarkFault } from "@/lib/audit/mark";
import type { Checked, Found } from "@/lib/backup/check-folder";

const WAY_ON = "Put the database and its -wal file back as they were together, or restore a backup into a new folder. To go on with what is left, knowing what is lost, delete audit-mark in the data folder and start again.";

/** Why a database is not served, and the way on. */
export const HISTORY_LOST: Readonly<Record<MarkFault, string>> = {
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
  "keys-missing": "The media key is missing or damaged, so no file was opened.",
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
