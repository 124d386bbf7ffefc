import "server-only";
import { join } from "node:path";
import { migrate } from "drizzle-orm/better-sqlite3/migrator";
import type { Database } from "@/db/client";

/** Brings the schema up to date, all or nothing. */
export function migrateDatabase(db: Database): void {
  migrate(db, { migrationsFolder: join(process.cwd(), "db", "migrations") });
}
