import { foreignKey, index, integer, sqliteTable, text, unique } from "drizzle-orm/sqlite-core";
import { children, ofChild } from "@/db/schema/care";
import { people } from "@/db/schema/practice";

/** A spoken note: recorded for one photo set, part of an answer once that answer names it. */
export const voiceNotes = sqliteTable(
  "voice_notes",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    photoSetId: text("photo_set_id").notNull(),
    container: text("container", { enum: ["webm", "mp4"] }).notNull(),
    durationMs: integer("duration_ms").notNull(),
    recordedBy: text("recorded_by").notNull().references(() => people.id),
    recordedAt: integer("recorded_at").notNull(),
    /** Recorded again or thrown away before it was sent. */
    removedAt: integer("removed_at"),
  },
  (t) => [
    foreignKey({ columns: [t.childId, t.familyId], foreignColumns: [children.id, children.familyId] }),
    unique("voice_notes_of_child").on(t.childId, t.familyId, t.id),
    index("voice_notes_set").on(t.photoSetId),
  ],
);
