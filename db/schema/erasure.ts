import { sql } from "drizzle-orm";
import { check, foreignKey, index, integer, primaryKey, sqliteTable, text, uniqueIndex } from "drizzle-orm/sqlite-core";
import { families, ofChild } from "@/db/schema/care";
import { photos } from "@/db/schema/photos";
import { people, practices } from "@/db/schema/practice";

export const ERASED_KINDS = ["photo", "voice-note", "child", "family"] as const;

/** What was erased, by its random id, and nothing else of it: so that a backup put back cannot bring it back. */
export const tombstones = sqliteTable(
  "tombstones",
  {
    id: text("id").notNull(),
    kind: text("kind", { enum: ERASED_KINDS }).notNull(),
    erasedAt: integer("erased_at").notNull(),
  },
  (t) => [primaryKey({ columns: [t.kind, t.id] })],
);

/** Files that lost their rows in the act that erased them, until they are gone from the disk too. */
export const erasedFiles = sqliteTable("erased_files", { fileId: text("file_id").primaryKey() });

/** Somebody asked for an erasure: it is done when its time has come, unless it was taken back. Gone with what it was about. */
export const erasureRequests = sqliteTable(
  "erasure_requests",
  {
    id: text("id").primaryKey(),
    kind: text("kind", { enum: ERASED_KINDS }).notNull(),
    objectId: text("object_id").notNull(),
    /** Null: of a whole family. */
    childId: text("child_id"),
    familyId: text("family_id").notNull().references(() => families.id),
    askedBy: text("asked_by").notNull().references(() => people.id),
    askedAt: integer("asked_at").notNull(),
    dueAt: integer("due_at").notNull(),
    takenBackAt: integer("taken_back_at"),
    takenBackBy: text("taken_back_by").references(() => people.id),
  },
  (t) => [
    uniqueIndex("erasure_requests_open").on(t.kind, t.objectId).where(sql`taken_back_at is null`),
    index("erasure_requests_family").on(t.familyId),
    index("erasure_requests_due").on(t.dueAt),
    check("erasure_requests_child", sql`(${t.kind} = 'family') = (${t.childId} is null)`),
  ],
);

/** A photo that nobody may see until the lead has erased or released it. While it is open, the photo is also `removed`. */
export const quarantines = sqliteTable(
  "quarantines",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    photoId: text("photo_id").notNull(),
    setAsideBy: text("set_aside_by").notNull().references(() => people.id),
    setAsideAt: integer("set_aside_at").notNull(),
    releasedBy: text("released_by").references(() => people.id),
    releasedAt: integer("released_at"),
  },
  (t) => [
    foreignKey({
      columns: [t.photoId, t.childId, t.familyId],
      foreignColumns: [photos.id, photos.childId, photos.familyId],
    }),
    uniqueIndex("quarantines_open").on(t.photoId).where(sql`released_at is null`),
    index("quarantines_child").on(t.childId),
  ],
);

/** How the daily look for what is too old went; the newest of a practice says whether it waits for the lead. */
export const retentionRuns = sqliteTable(
  "retention_runs",
  {
    id: text("id").primaryKey(),
    practiceId: text("practice_id").notNull().references(() => practices.id),
    ranAt: integer("ran_at").notNull(),
    /** Photos that would go or went, and all there were. */
    due: integer("due").notNull(),
    total: integer("total").notNull(),
    outcome: text("outcome", { enum: ["done", "held"] }).notNull(),
    /** What the lead confirmed of a held one: no more than those may go at once. */
    confirmedBy: text("confirmed_by").references(() => people.id),
    confirmedAt: integer("confirmed_at"),
  },
  (t) => [index("retention_runs_newest").on(t.practiceId, t.ranAt)],
);
