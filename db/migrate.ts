import "server-only";
import { join } from "node:path";
import { migrate } from "drizzle-orm/better-sqlite3/migrator";
import type { Database } from "@/db/client";

/**
 * Brings the schema up to date, all or nothing. A table that is built anew is dropped under those that
 * refer to it, so references are checked as a whole afterwards; throws when one leads nowhere.
 */
export function migrateDatabase(db: Database): void {
  // Inside a transaction this pragma does nothing, so it cannot stand in a migration.
  db.$client.pragma("foreign_keys = OFF");
  migrate(db, { migrationsFolder: join(process.cwd(), "db", "migrations") });
  const lost: unknown = db.$client.pragma("foreign_key_check");
  if (!Array.isArray(lost) || lost.length > 0) throw new Error("a reference leads nowhere after migrating");
  db.$client.pragma("foreign_keys = ON");
}
