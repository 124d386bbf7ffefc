import { sql } from "drizzle-orm";
import { check, foreignKey, index, integer, real, sqliteTable, text, unique, uniqueIndex } from "drizzle-orm/sqlite-core";
import { children, ofChild, setups } from "@/db/schema/care";
import { people } from "@/db/schema/practice";
import { voiceNotes } from "@/db/schema/voice";

/** Exists for nobody but its sender until `sentAt` is set by the finishing act. */
export const photoSets = sqliteTable(
  "photo_sets",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    exerciseKey: text("exercise_key").notNull(),
    phase: text("phase", { enum: ["position", "breath", "movement", "activation"] }).notNull(),
    /** The confirmed set-up that the family was shown. */
    setupId: text("setup_id").notNull(),
    sentBy: text("sent_by").notNull().references(() => people.id),
    startedAt: integer("started_at").notNull(),
    sentAt: integer("sent_at"),
    /** When the photo was taken, from the file or the parent; null when nobody knows. */
    takenAt: integer("taken_at"),
    takenAtSource: text("taken_at_source", { enum: ["file", "parent", "unknown"] }).notNull().default("unknown"),
    /** Missing, or older than the last answer: such a set never lifts a stop. */
    isOld: integer("is_old", { mode: "boolean" }).notNull().default(false),
    note: text("note").notNull().default(""),
    /** "sent for the wrong child" or withdrawn consent: it counts nowhere any more. */
    voidedAt: integer("voided_at"),
    voidedBy: text("voided_by"),
    voidReason: text("void_reason", { enum: ["wrong-child", "consent-withdrawn", "erased"] }),
    /** When photos of this set were last erased; nothing else is left of them. */
    photosErasedAt: integer("photos_erased_at"),
    /** When its family was last told that its photos will be erased by age. */
    eraseWarnedAt: integer("erase_warned_at"),
  },
  (t) => [
    foreignKey({ columns: [t.childId, t.familyId], foreignColumns: [children.id, children.familyId] }),
    foreignKey({
      columns: [t.setupId, t.childId, t.familyId],
      foreignColumns: [setups.id, setups.childId, setups.familyId],
    }),
    unique("photo_sets_of_child").on(t.id, t.childId, t.familyId),
    index("photo_sets_sent").on(t.sentAt),
    index("photo_sets_last").on(t.childId, t.sentAt),
    index("photo_sets_child").on(t.childId, t.exerciseKey, t.sentAt),
    // All that answer times read of a set, so that thousands are read in a row.
    index("photo_sets_timed").on(t.sentAt, t.id, t.familyId, t.childId, t.exerciseKey, t.setupId, t.voidedAt).where(sql`sent_at is not null and voided_at is null`),
    index("photo_sets_setup").on(t.setupId),
    index("photo_sets_wrong_child").on(t.id).where(sql`void_reason = 'wrong-child'`),
  ],
);

/**
 * Every photo set that was sent, still counts and has no first answer: what else would be looked for among all that
 * were ever sent. Kept by triggers on `photo_sets` and `answers` alone (migration 0026), so that no act can forget it.
 */
export const waitingSets = sqliteTable("waiting_sets", {
  photoSetId: text("photo_set_id").primaryKey().references(() => photoSets.id, { onDelete: "cascade" }),
});

export const photos = sqliteTable(
  "photos",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    photoSetId: text("photo_set_id").notNull(),
    ordinal: integer("ordinal").notNull(),
    view: text("view", { enum: ["behind", "front", "head-end", "other"] }).notNull(),
    /** Upright size of the largest kept picture, in pixels. */
    width: integer("width").notNull(),
    height: integer("height").notNull(),
    /** JPEG at most 32 pixels a side, base64. */
    placeholder: text("placeholder").notNull(),
    sharpness: real("sharpness").notNull(),
    exposureMean: real("exposure_mean").notNull(),
    exposureDarkShare: real("exposure_dark_share").notNull(),
    exposureLightShare: real("exposure_light_share").notNull(),
    hash: text("hash").notNull(),
    mirroredFlag: integer("mirrored_flag", { mode: "boolean" }).notNull(),
    /** JSON, `SideCardReading`, of the kept pictures as they now stand; null when no card was found. */
    cardReading: text("card_reading"),
    /** The picture came mirror-reversed, by its side card or by a member of staff, and was turned back. */
    isTurnedBack: integer("is_turned_back", { mode: "boolean" }).notNull().default(false),
    /** What settles that the kept pictures are not mirror-reversed; null while nothing does. */
    mirrorSettledBy: text("mirror_settled_by", { enum: ["card", "staff"] }),
    takenAt: integer("taken_at"),
    /** What the parent answered for the side check: fractions of the upright photo. */
    headX: real("head_x"),
    headY: real("head_y"),
    facing: text("facing", { enum: ["front", "back", "unsure"] }),
    sideCheck: text("side_check", {
      enum: ["opposite", "matches", "looks-opposite", "looks-right-not-proven", "cannot-tell"],
    }),
    receivedBytes: integer("received_bytes").notNull(),
    /** Bytes of the file on the phone before it was made smaller there; null when it came as it was. */
    originalBytes: integer("original_bytes"),
    /** Somebody hid a part of the picture before sending it; those pixels are gone. */
    isCovered: integer("is_covered", { mode: "boolean" }).notNull().default(false),
    receivedSha256: text("received_sha256").notNull(),
    storedAt: integer("stored_at").notNull(),
    removedAt: integer("removed_at"),
    /** A moment: not sent by a family, but taken by a therapist as a picture from the clip of this photo, at this time in it, by whom. */
    momentOf: text("moment_of"),
    clipMs: integer("clip_ms"),
    momentBy: text("moment_by").references(() => people.id),
  },
  (t) => [
    foreignKey({
      columns: [t.photoSetId, t.childId, t.familyId],
      foreignColumns: [photoSets.id, photoSets.childId, photoSets.familyId],
    }),
    foreignKey({ columns: [t.momentOf, t.childId, t.familyId], foreignColumns: [t.id, t.childId, t.familyId] }),
    index("photos_moment").on(t.momentOf).where(sql`moment_of is not null`),
    // The child first, so that a child's own are found by it too.
    unique("photos_of_child").on(t.childId, t.familyId, t.id),
    // Beside these, written into the migration by hand, an index for each of `HASH_PARTS`, by which the same picture is found.
    uniqueIndex("photos_place").on(t.photoSetId, t.ordinal).where(sql`removed_at is null`),
    // What a family sent has the first four places, moments the six behind them.
    check("photos_ordinal", sql`${t.ordinal} between 1 and 10 and (${t.ordinal} > 4) = (${t.momentOf} is not null)`),
    check("photos_moment_whole", sql`(${t.momentOf} is null) = (${t.clipMs} is null) and (${t.momentOf} is null) = (${t.momentBy} is null)`),
  ],
);

/** Appended: what a member of staff decided about one photo, and why. The newest of its kind holds. */
export const photoDecisions = sqliteTable(
  "photo_decisions",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    photoId: text("photo_id").notNull(),
    /** Of the picture as it came: mirror-reversed or not; or of whom it shows, whatever its side card says. */
    decision: text("decision", { enum: ["mirrored", "not-mirrored", "right-child"] }).notNull(),
    reason: text("reason").notNull(),
    decidedBy: text("decided_by").notNull().references(() => people.id),
    decidedAt: integer("decided_at").notNull(),
  },
  (t) => [
    foreignKey({
      columns: [t.photoId, t.childId, t.familyId],
      foreignColumns: [photos.id, photos.childId, photos.familyId],
    }),
    index("photo_decisions_photo").on(t.photoId),
  ],
);

/** Every encrypted file in the media folder has its row here, and every row its file. */
export const mediaFiles = sqliteTable(
  "media_files",
  {
    fileId: text("file_id").primaryKey(),
    ...ofChild(),
    /** Of a picture; null for a spoken note. */
    photoId: text("photo_id"),
    /** Of a spoken note; null for a picture. */
    voiceNoteId: text("voice_note_id"),
    kind: text("kind", { enum: ["2048", "1024", "320", "marked", "clip", "voice"] }).notNull(),
    /** Set for `marked`: the answer whose marks are drawn in. */
    answerId: text("answer_id"),
    /** Pixels of a picture; null for a spoken note. */
    width: integer("width"),
    height: integer("height"),
    byteLength: integer("byte_length").notNull(),
    sha256: text("sha256").notNull(),
    keyId: text("key_id").notNull(),
    storedAt: integer("stored_at").notNull(),
  },
  (t) => [
    foreignKey({
      columns: [t.photoId, t.childId, t.familyId],
      foreignColumns: [photos.id, photos.childId, photos.familyId],
    }),
    foreignKey({
      columns: [t.voiceNoteId, t.childId, t.familyId],
      foreignColumns: [voiceNotes.id, voiceNotes.childId, voiceNotes.familyId],
    }),
    index("media_files_photo").on(t.photoId, t.kind),
    index("media_files_family").on(t.familyId, t.byteLength),
    index("media_files_child").on(t.childId, t.kind),
    uniqueIndex("media_files_voice").on(t.voiceNoteId),
    check("media_files_of", sql`(${t.photoId} is null) <> (${t.voiceNoteId} is null)`),
    check("media_files_voice_kind", sql`(${t.kind} = 'voice') = (${t.voiceNoteId} is not null)`),
  ],
);

export const symptomReports = sqliteTable(
  "symptom_reports",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    tier: text("tier", { enum: ["urgent", "today"] }).notNull(),
    /** JSON array of symptom keys. */
    symptoms: text("symptoms").notNull(),
    note: text("note").notNull().default(""),
    photoSetId: text("photo_set_id"),
    reportedBy: text("reported_by").notNull().references(() => people.id),
    reportedAt: integer("reported_at").notNull(),
    /** How long it lay on a phone without signal before it came, by the phone's own reckoning. */
    waitedMs: integer("waited_ms").notNull().default(0),
  },
  (t) => [
    foreignKey({ columns: [t.childId, t.familyId], foreignColumns: [children.id, children.familyId] }),
    unique("symptom_reports_of_child").on(t.id, t.childId, t.familyId),
    index("symptom_reports_child").on(t.childId),
  ],
);

/** The only thing that lifts a symptom stop: who was spoken to and what came of it. */
export const symptomClearances = sqliteTable(
  "symptom_clearances",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    reportId: text("report_id").notNull(),
    spokeTo: text("spoke_to").notNull(),
    outcome: text("outcome").notNull(),
    clearedBy: text("cleared_by").notNull().references(() => people.id),
    clearedAt: integer("cleared_at").notNull(),
  },
  (t) => [
    foreignKey({
      columns: [t.reportId, t.childId, t.familyId],
      foreignColumns: [symptomReports.id, symptomReports.childId, symptomReports.familyId],
    }),
    uniqueIndex("symptom_clearances_once").on(t.reportId),
  ],
);
