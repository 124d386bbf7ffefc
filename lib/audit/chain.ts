import "server-only";
import type Sqlite from "better-sqlite3";
import { chainHash, FIRST_HASH, type AuditEntry } from "@/lib/audit/entry";

/** The newest entry: how many there are, and the hash that stands for all of them. */
export type ChainEnd = { readonly sequence: number; readonly hash: string };
export type CheckedChain = {
  readonly count: number;
  readonly end: ChainEnd | null;
  /** The first entry that is not what was written, or is missing; null when the chain is whole. */
  readonly brokenAt: number | null;
};

type Row = AuditEntry & ChainEnd & { readonly previousHash: string };

const ENTRIES = `select sequence, at, actor_id as actorId, role, act, object_id as objectId, family_id as familyId, outcome,
  request_id as requestId, session_hash as sessionHash, previous_hash as previousHash, hash from audit_entries order by sequence`;

/**
 * Walks the whole chain: each entry follows the one before, without a gap, and hashes to what it says. Entries
 * cut off at the end show in the number that SQLite gave out last; the mark beside the database knows it too.
 */
export function checkChain(client: Sqlite.Database): CheckedChain {
  // One moment of the database: a server may be writing to it.
  return client.transaction(() => walk(client))();
}

function walk(client: Sqlite.Database): CheckedChain {
  let end: ChainEnd = { sequence: 0, hash: FIRST_HASH };
  let brokenAt: number | null = null;
  for (const row of client.prepare<[], Row>(ENTRIES).iterate()) {
    const isNext = row.sequence === end.sequence + 1 && row.previousHash === end.hash && row.hash === chainHash(end.hash, row);
    if (!isNext) brokenAt ??= end.sequence + 1;
    end = { sequence: row.sequence, hash: row.hash };
  }
  const given = client.prepare<[], number>("select seq from sqlite_sequence where name = 'audit_entries'").pluck().get() ?? 0;
  if (given !== end.sequence) brokenAt ??= end.sequence + 1;
  return { count: end.sequence, end: end.sequence === 0 ? null : end, brokenAt };
}

/** The newest entry; null in an empty chain, or where there is no chain at all. */
export function chainEnd(client: Sqlite.Database): ChainEnd | null {
  if (!client.prepare("select 1 from sqlite_schema where name = 'audit_entries'").get()) return null;
  return client.prepare<[], ChainEnd>("select sequence, hash from audit_entries order by sequence desc limit 1").get() ?? null;
}

export const hashAt = (client: Sqlite.Database, sequence: number): string | null =>
  client.prepare<[number], string>("select hash from audit_entries where sequence = ?").pluck().get(sequence) ?? null;
