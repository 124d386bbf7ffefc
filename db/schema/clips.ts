import { foreignKey, index, integer, sqliteTable, text, uniqueIndex } from "drizzle-orm/sqlite-core";
import { ofChild } from "@/db/schema/care";
import { photos } from "@/db/schema/photos";
import { CLIP_CODECS, CLIP_CONTAINERS } from "@/lib/domain/clip/limits";

/** A short clip: the movement that one photo of a set is a frame of. It is seen, set aside and erased with that photo. */
export const clips = sqliteTable(
  "clips",
  {
    /** Made on the phone; one clip, however often its pieces are sent. */
    id: text("id").primaryKey(),
    ...ofChild(),
    photoId: text("photo_id").notNull(),
    container: text("container", { enum: CLIP_CONTAINERS }).notNull(),
    codec: text("codec", { enum: CLIP_CODECS }).notNull(),
    durationMs: integer("duration_ms").notNull(),
    frames: integer("frames").notNull(),
    /** As it is shown, turned by its own container. */
    width: integer("width").notNull(),
    height: integer("height").notNull(),
    /** The file itself asks to be shown mirror-reversed. */
    mirroredFlag: integer("mirrored_flag", { mode: "boolean" }).notNull(),
    /** Quarters clockwise by which its parent turned the photo on the phone: the film is not turned, its showing is. */
    turns: integer("turns").notNull().default(0),
    /** When it was filmed, by the file; null when the file does not say. */
    takenAt: integer("taken_at"),
    receivedBytes: integer("received_bytes").notNull(),
    receivedSha256: text("received_sha256").notNull(),
    storedAt: integer("stored_at").notNull(),
  },
  (t) => [
    foreignKey({
      columns: [t.photoId, t.childId, t.familyId],
      foreignColumns: [photos.id, photos.childId, photos.familyId],
    }),
    uniqueIndex("clips_photo").on(t.photoId),
    index("clips_child").on(t.childId),
  ],
);
