import { sql } from "drizzle-orm";
import { foreignKey, index, integer, primaryKey, sqliteTable, text, unique, uniqueIndex } from "drizzle-orm/sqlite-core";
import { children, ofChild } from "@/db/schema/care";
import { people } from "@/db/schema/practice";

/**
 * Everything of one child as one archive, made once for the person who asked. What it is at: waiting (`madeAt` null),
 * made, failed, or gone. Ids and times alone stand here.
 */
export const childExports = sqliteTable(
  "child_exports",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    askedBy: text("asked_by").notNull().references(() => people.id),
    askedAt: integer("asked_at").notNull(),
    /** How often it was begun: a crash in the middle begins it again, but not for ever. */
    begun: integer("begun").notNull().default(0),
    /** Files to go into it, known once begun, and how many are in. */
    filesToDo: integer("files_to_do"),
    filesDone: integer("files_done").notNull().default(0),
    madeAt: integer("made_at"),
    /** Of the whole archive; null until it is made. */
    byteLength: integer("byte_length"),
    sha256: text("sha256"),
    failedAt: integer("failed_at"),
    /** Past its time, replaced, or the access it was asked on ended: its parts are erased. */
    goneAt: integer("gone_at"),
  },
  (t) => [
    foreignKey({ columns: [t.childId, t.familyId], foreignColumns: [children.id, children.familyId] }),
    unique("child_exports_of_child").on(t.id, t.childId, t.familyId),
    // One at a time for one person and child.
    uniqueIndex("child_exports_open").on(t.askedBy, t.childId).where(sql`gone_at is null`),
    index("child_exports_waiting").on(t.askedAt).where(sql`made_at is null and failed_at is null and gone_at is null`),
  ],
);

/** The archive's bytes in order, in the exports folder, encrypted as pictures are. */
export const exportParts = sqliteTable(
  "export_parts",
  {
    exportId: text("export_id").notNull().references(() => childExports.id, { onDelete: "cascade" }),
    ordinal: integer("ordinal").notNull(),
    fileId: text("file_id").notNull(),
    byteLength: integer("byte_length").notNull(),
  },
  (t) => [primaryKey({ columns: [t.exportId, t.ordinal] })],
);
