import { sql, type SQL } from "drizzle-orm";
import type { AnySQLiteColumn } from "drizzle-orm/sqlite-core";
import { database, type Database } from "@/db/client";

/**
 * A statement built and prepared once for a database and not for each request, since building one costs many times what running
 * it does. For what nearly every request asks. It runs inside a transaction like any other: there is one connection.
 */
export function prepared<Statement>(build: (db: Database) => Statement): () => Statement {
  const built = new WeakMap<Database, Statement>();
  return () => {
    const db = database();
    const there = built.get(db) ?? build(db);
    built.set(db, there);
    return there;
  };
}

/** Left open in such a statement: whose rows it reads. */
export const OF_CHILD = { childId: sql.placeholder("childId"), familyId: sql.placeholder("familyId") } as const;

/** In such a statement: among a list that is handed to it as JSON, so that one text serves a list of any length. */
export const among = (column: AnySQLiteColumn, list: string): SQL => sql`${column} in (select value from json_each(${sql.placeholder(list)}))`;
