import "server-only";
import { mkdirSync } from "node:fs";
import { join, resolve } from "node:path";
import Sqlite from "better-sqlite3";
import { drizzle, type BetterSQLite3Database } from "drizzle-orm/better-sqlite3";
import { withKeptStatements } from "@/db/kept-statements";

export type Database = BetterSQLite3Database & { readonly $client: Sqlite.Database };
/** What a change gets: the open transaction, and nothing else. */
export type Transaction = Parameters<Parameters<Database["transaction"]>[0]>[0];

/**
 * Set and asserted on every open. SQLite falls back to synchronous NORMAL when a WAL database is
 * opened again, which loses acknowledged rows in a power cut; FULL is 2.
 */
const PRAGMAS = [
  ["journal_mode", "WAL", "wal"],
  ["synchronous", "FULL", 2],
  ["foreign_keys", "ON", 1],
  ["busy_timeout", "5000", 5000],
  ["secure_delete", "ON", 1],
  ["trusted_schema", "OFF", 0],
  // 64 MB in place of 2: looking up what lies scattered over years takes some half of the time. Measured, not guessed.
  ["cache_size", "-65536", -65_536],
] as const;

/** The one way to open the database, for app, commands and tests alike. Throws when a pragma does not hold. */
export function openDatabase(file: string): Database {
  const client = new Sqlite(file);
  for (const [name, value, expected] of PRAGMAS) {
    client.pragma(`${name} = ${value}`);
    const actual: unknown = client.pragma(name, { simple: true });
    // An in-memory database of a test has no write-ahead log.
    const holds = actual === expected || (name === "journal_mode" && actual === "memory");
    if (!holds) throw new Error(`pragma ${name} is not ${value}`);
  }
  return Object.assign(drizzle({ client: withKeptStatements(client) }), { $client: client });
}

/** For looking alone: writes nothing, and may stand beside the server. Throws where there is no database. */
export function openToRead(file: string): Sqlite.Database {
  const client = new Sqlite(file, { readonly: true, fileMustExist: true, timeout: 5000 });
  client.pragma("trusted_schema = OFF");
  return client;
}

export function dataDir(): string {
  return resolve(process.env["DATA_DIR"] ?? "data");
}

/** Whether SQLite refused a write because nothing more fits on the disk, or into the index of its log. */
export const isDatabaseFull = (error: unknown): boolean =>
  error instanceof Error && (("code" in error && ["SQLITE_FULL", "SQLITE_IOERR_SHMSIZE"].includes(String(error.code))) || isDatabaseFull(error.cause));

// Next bundles this module several times into one process; they share one connection.
const SHARED = Symbol.for("trueside.database");
const ROOM = Symbol.for("trueside.room");
type Shared = { [SHARED]?: { readonly dir: string; readonly db: Database }; [ROOM]?: (dir: string) => boolean };

/** What `database()` has opened in this process; null before it was asked for. */
export const openedDatabase = (): { readonly dir: string; readonly db: Database } | null => (globalThis as Shared)[SHARED] ?? null; // as below

/** The practice's database in `DATA_DIR`, opened once a process. */
export function database(): Database {
  const shared = globalThis as Shared; // a symbol of our own on the global object
  const dir = dataDir();
  if (shared[SHARED]?.dir !== dir) {
    mkdirSync(dir, { recursive: true, mode: 0o700 });
    shared[SHARED] = { dir, db: triedTwice(openDatabase(join(dir, "trueside.db")), dir) };
  }
  return shared[SHARED].db;
}

/** What gives up room in a data folder whose disk is full, and says whether it did; then the transaction that found it full runs once more. */
export function onFullDisk(makeRoom: ((dir: string) => boolean) | null): void {
  const shared = globalThis as Shared; // as above
  if (makeRoom) shared[ROOM] = makeRoom;
  else delete shared[ROOM];
}

/** A transaction that failed left nothing behind, so that it can begin again. */
function triedTwice(db: Database, dir: string): Database {
  const transaction = db.transaction.bind(db);
  db.transaction = (work, config) => {
    try {
      return transaction(work, config);
    } catch (error) {
      if (!isDatabaseFull(error) || !(globalThis as Shared)[ROOM]?.(dir)) throw error; // as above
      return transaction(work, config);
    }
  };
  return db;
}
