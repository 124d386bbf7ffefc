import { sql } from "drizzle-orm";
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
