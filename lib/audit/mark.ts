import "server-only";
import { closeSync, existsSync, fdatasync, fsyncSync, openSync, readFileSync, renameSync, writeSync } from "node:fs";
import { join } from "node:path";
import type Sqlite from "better-sqlite3";
import { openedDatabase, type Database } from "@/db/client";
import { chainEnd, hashAt, type ChainEnd } from "@/lib/audit/chain";

/** In the data folder, beside the database and no part of it. */
export const MARK_FILE = "audit-mark";
/** Written over in place: always this long, and in one sector of any disk. */
const DIGITS = 16;
const FORM = /^(\d{16}) ([0-9a-f]{64})\n$/;
/** How long what was written may wait for the disk. A killed process loses nothing of it, a power cut this much. */
const SYNC_MS = 5_000;

/** `shorter`: entries that were acknowledged are gone; `other`: the entry at the mark is another one. */
export type MarkFault = "shorter" | "other" | "unreadable";

const SHARED = Symbol.for("trueside.audit-mark");
type Open = { readonly dir: string; readonly file: number; sequence: number; sync: NodeJS.Timeout | null };
type Shared = { [SHARED]?: Open };

let isDue = false;

/**
 * Called by whoever appends an entry: once the running transaction is over, and before anybody is told that it
 * is, the newest committed entry is written down beside the database. One small write without waiting for the
 * disk; the disk is asked for some seconds later, once for all that happened in between.
 */
export function markSoon(): void {
  const opened = openedDatabase();
  if (!opened || isDue) return;
  isDue = true;
  // Transactions are synchronous, so this runs after their end and before what awaits them goes on.
  void Promise.resolve().then(() => {
    isDue = false;
    writeDown(opened);
  });
}

/** At once, for a command that is about to end. */
export function markNow(): void {
  const opened = openedDatabase();
  if (opened) writeDown(opened);
}

function writeDown({ dir, db }: { readonly dir: string; readonly db: Database }): void {
  try {
    if (!db.$client.open) return;
    const end = chainEndOf(db.$client);
    if (!end) return;
    const mark = openMark(dir, end);
    if (end.sequence <= mark.sequence) return;
    writeSync(mark.file, lineOf(end), 0, "latin1");
    mark.sequence = end.sequence;
    mark.sync ??= setTimeout(() => {
      mark.sync = null;
      fdatasync(mark.file, () => undefined);
    }, SYNC_MS).unref();
  } catch (error) {
    // The act is done and stays done: a mark too low only notices less.
    const code = error instanceof Error && "code" in error ? String(error.code) : "unknown";
    process.stderr.write(`${JSON.stringify({ at: new Date().toISOString(), event: "audit-mark-failed", code })}\n`);
  }
}

const statements = new WeakMap<Sqlite.Database, Sqlite.Statement<[], ChainEnd>>();

function chainEndOf(client: Sqlite.Database): ChainEnd | null {
  const statement = statements.get(client) ?? client.prepare<[], ChainEnd>("select sequence, hash from audit_entries order by sequence desc limit 1");
  statements.set(client, statement);
  return statement.get() ?? null;
}

function openMark(dir: string, end: ChainEnd): Open {
  const shared = globalThis as Shared; // a symbol of our own on the global object
  const open = shared[SHARED];
  if (open?.dir === dir) return open;
  if (open?.sync) clearTimeout(open.sync);
  if (open) closeSync(open.file);
  delete shared[SHARED];
  const path = join(dir, MARK_FILE);
  if (!existsSync(path)) writeMark(dir, end);
  shared[SHARED] = { dir, file: openSync(path, "r+"), sequence: readMark(dir)?.sequence ?? 0, sync: null };
  return shared[SHARED];
}

/** Puts the mark there anew, whatever stood there, and only whole. */
export function writeMark(dir: string, end: ChainEnd): void {
  const aside = join(dir, `.${MARK_FILE}`);
  const file = openSync(aside, "w", 0o600);
  writeSync(file, lineOf(end), 0, "latin1");
  fsyncSync(file);
  closeSync(file);
  renameSync(aside, join(dir, MARK_FILE));
}

/** The newest entry anybody was told of; null where nothing was written down, or not so that it can be read. */
function readMark(dir: string): ChainEnd | null {
  const path = join(dir, MARK_FILE);
  const [, sequence, hash] = (existsSync(path) ? FORM.exec(readFileSync(path, "latin1")) : null) ?? [];
  return sequence && hash ? { sequence: Number(sequence), hash } : null;
}

/**
 * Whether the database still holds what was acknowledged: a deleted write-ahead log and yesterday's file put back
 * leave a database that calls itself whole. `client` is null where there is no database. Null: nothing is missing.
 */
export function markFault(client: Sqlite.Database | null, dir: string): MarkFault | null {
  const mark = readMark(dir);
  if (!mark) return existsSync(join(dir, MARK_FILE)) ? "unreadable" : null;
  const end = client && chainEnd(client);
  if (!client || !end || end.sequence < mark.sequence) return "shorter";
  return hashAt(client, mark.sequence) === mark.hash ? null : "other";
}

const lineOf = ({ sequence, hash }: ChainEnd): string => `${String(sequence).padStart(DIGITS, "0")} ${hash}\n`;
