import "server-only";
import { existsSync } from "node:fs";
import { join } from "node:path";
import { createHash } from "node:crypto";
import type Sqlite from "better-sqlite3";
import { openToRead } from "@/db/client";
import { checkChain } from "@/lib/audit/chain";
import { markFault } from "@/lib/audit/mark";
import { openStoreUnder } from "@/lib/media/practice-store";
import { earlierMediaKeys, OutsideKeyRefused, readMediaKey } from "@/lib/media/secrets";
import { isUnreachable, MediaError, type MediaStore } from "@/lib/media/store";

export type Found =
  | "database-missing" | "database-damaged" | "reference-broken"
  | "audit-broken" | "history-shorter" | "history-other" | "mark-unreadable"
  | "keys-missing" | "file-missing" | "file-damaged" | "file-of-another-key" | "file-without-row";

/** `at`: a file's random id, an entry's number, or a table's name; nothing of anybody. */
export type Finding = { readonly found: Found; readonly at: string | null };
export type Checked = {
  readonly findings: readonly Finding[];
  readonly auditEntries: number;
  readonly files: number;
  readonly bytes: number;
};

type Row = { readonly fileId: string; readonly byteLength: number; readonly sha256: string };

/** A file this young may be waiting for its row. */
const SETTLED_MS = 3_600_000;

/**
 * Looks through a data folder and changes nothing, whether it is being served or not: the database's own checks,
 * the audit chain and its mark, and every file against its row by opening it. Throws `MediaError` "unreachable" and `PlaceFault`.
 */
export async function checkFolder(dataDir: string, now: number): Promise<Checked> {
  const findings: Finding[] = [];
  const counted = { auditEntries: 0, files: 0, bytes: 0 };
  const find = (found: Found, at: string | null = null): void => void findings.push({ found, at });
  const path = join(dataDir, "trueside.db");
  if (!existsSync(path)) return { findings: [{ found: "database-missing", at: null }], ...counted };
  const client = openToRead(path);
  try {
    checkDatabase(client, find);
    const chain = checkChain(client);
    counted.auditEntries = chain.count;
    if (chain.brokenAt !== null) find("audit-broken", String(chain.brokenAt));
    const fault = markFault(client, dataDir);
    if (fault) find(({ shorter: "history-shorter", other: "history-other", unreadable: "mark-unreadable" } as const)[fault]);
    const key = mediaKeyOf(dataDir);
    if (!key) find("keys-missing");
    else Object.assign(counted, await checkFiles(client, openStoreUnder(dataDir, { current: key, earlier: earlierMediaKeys(dataDir) }), now, find));
  } catch (error) {
    if (!isDamage(error)) throw error;
    find("database-damaged");
  } finally {
    client.close();
  }
  return { findings, ...counted };
}

function mediaKeyOf(dataDir: string): Buffer | null {
  try {
    return readMediaKey(dataDir);
  } catch (error) {
    if (error instanceof OutsideKeyRefused) return null;
    throw error;
  }
}

/** What SQLite says of itself; also of the copy that goes into a backup. */
export function checkDatabase(client: Sqlite.Database, find: (found: Found, at: string | null) => void): void {
  try {
    const said = client.prepare<[], string>("pragma integrity_check(1)").pluck().get();
    if (said !== "ok") return find("database-damaged", null);
    const broken = client.prepare<[], string>("select distinct \"table\" from pragma_foreign_key_check").pluck().all();
    for (const table of broken) find("reference-broken", table);
  } catch (error) {
    if (!isDamage(error)) throw error;
    find("database-damaged", null);
  }
}

const isDamage = (error: unknown): boolean =>
  error instanceof Error && "code" in error && ["SQLITE_CORRUPT", "SQLITE_NOTADB"].some((code) => String(error.code).startsWith(code));

/** The rows first and the files after: what was erased meanwhile has lost its row too. */
async function checkFiles(client: Sqlite.Database, store: MediaStore, now: number, find: (found: Found, at: string) => void): Promise<{ readonly files: number; readonly bytes: number }> {
  const rowOf = client.prepare<[string], Row>("select file_id as fileId, byte_length as byteLength, sha256 from media_files where file_id = ?");
  const rows = client.prepare<[], Row>("select file_id as fileId, byte_length as byteLength, sha256 from media_files").all();
  let bytes = 0;
  for (const row of rows) {
    const found = await faultOf(store, row);
    if (found && rowOf.get(row.fileId)) find(found, row.fileId);
    bytes += row.byteLength;
  }
  const erased = erasedIn(client);
  for await (const { fileId, storedAtMs } of store.list()) {
    const isStray = storedAtMs < now - SETTLED_MS && !rowOf.get(fileId) && !erased.has(fileId);
    // Erased since it was listed is gone by now.
    if (isStray && await isThere(store, fileId)) find("file-without-row", fileId);
  }
  return { files: rows.length, bytes };
}

/** Files whose rows were erased, and which go next; in a database from before there was such a list, none. */
function erasedIn(client: Sqlite.Database): ReadonlySet<string> {
  if (!client.prepare("select 1 from sqlite_schema where name = 'erased_files'").get()) return new Set();
  return new Set(client.prepare<[], string>("select file_id from erased_files").pluck().all());
}

const isThere = async (store: MediaStore, fileId: string): Promise<boolean> =>
  store.read(fileId, { start: 0, end: 0 }).then(() => true, (error: unknown) => {
    if (isUnreachable(error)) throw error;
    return !(error instanceof MediaError && error.fault === "missing");
  });

const FAULTS = { missing: "file-missing", damaged: "file-damaged", "unknown-key": "file-of-another-key" } as const;

/** Null when the file opens and is what its row says. */
export async function faultOf(store: MediaStore, row: Row): Promise<(typeof FAULTS)[keyof typeof FAULTS] | null> {
  try {
    const plain = await store.read(row.fileId);
    const isSame = plain.length === row.byteLength && createHash("sha256").update(plain).digest("hex") === row.sha256;
    return isSame ? null : "file-damaged";
  } catch (error) {
    if (error instanceof MediaError && error.fault !== "disk-full" && error.fault !== "unreachable") return FAULTS[error.fault];
    throw error;
  }
}
